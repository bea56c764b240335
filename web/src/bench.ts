import { createChangeForm } from "./change-form";
import type { Desk } from "./desk";
import { byId, element } from "./element";
import { createErrands } from "./errands";
import { createFaultSwitches } from "./fault-switches";
import { findingsList } from "./findings";
import { createLookEditor } from "./look-editor";
import { createProbe } from "./probe";
import type { Problem, Shown } from "./scene";
import { createTraces } from "./traces";
import { warnOfFlashes, type View } from "./view";

/** The bench beside the piece: what was found, what can be changed, and the file it is written to. */
export function createBench(desk: Desk, view: View, first: Shown): void {
    let shown = first;
    let hasWarned = false;
    // nothing moves before every frame has been screened for flashes, unless somebody asks for it
    let isAwaited = view.clock.isPlaying;
    view.clock.play(false);
    view.clock.onChange(() => { isAwaited = false; });
    const findings = element("div");
    const form = element("div", { id: "form" });
    const word = element("p", { id: "word", role: "status" });
    const undo = button("Undo", () => act("undo"));
    const save = button("Write the file", () => act("save"));
    const reread = button("Take the file", () => act("reread"));
    const preview = button("Preview to send", takePreview);
    const editor = createLookEditor(desk, view, () => shown);
    createProbe(desk, view, () => (editor.isTrying() ? null : shown)); // a look that is tried isn't the piece's yet
    const failing = createFaultSwitches(desk, view.suffer);
    const curves = createTraces(byId("traces"), view.clock);
    const fields = createChangeForm(form, async (field, value) => {
        const answer = await desk.ask("change", { number: shown.number, path: field.path, value });
        if (Array.isArray(answer)) return answer;
        await take(answer);
        return [];
    });

    async function act(what: string): Promise<void> {
        const answer = await desk.ask(what);
        if (Array.isArray(answer)) say(answer);
        else await take(answer);
    }

    function say(problems: Problem[]): void {
        word.textContent = problems.map((problem) => `${problem.summary}: ${problem.do}`).join(" ");
    }

    async function take(next: Shown): Promise<void> {
        const isNew = next.number !== shown.number;
        shown = next;
        if (isNew) editor.giveWay();
        if (isNew) await view.show(shown.scene);
        draw();
    }

    function draw(): void {
        fields.show(shown.fields);
        undo.disabled = !shown.canUndo;
        save.disabled = shown.isSaved;
        word.textContent = shown.isSaved ? "as in the file" : "changed, not yet written";
        const wasOpen = findings.querySelector("details")?.open === true;
        findings.replaceChildren(findingsList(shown.findings, shown.isEstimate, desk.explain, standStillAt));
        const passed = findings.querySelector("details");
        if (passed !== null) passed.open = wasOpen;
        curves.show(shown.traces ?? [], shown.findings ?? []);
        failing.take(shown.number);
        if (shown.mayFlash && !hasWarned) warnOfFlashes(view.clock.play);
        hasWarned ||= shown.mayFlash;
        if (isAwaited && shown.findings !== null && !shown.isEstimate) {
            isAwaited = false;
            view.clock.play(!shown.mayFlash);
        }
    }

    /** A moment that somebody asks for is there to be looked at. */
    function standStillAt(seconds: number): void {
        view.clock.play(false);
        view.clock.seek(seconds);
    }

    async function takePreview(): Promise<void> {
        try {
            const link = element("a", { href: URL.createObjectURL(await desk.file("preview")), download: `${shown.scene.name}.html` });
            link.click();
        } catch (error) {
            word.textContent = (error as Error).message;
        }
    }

    byId("bench").replaceChildren(
        element("div", { class: "row" }, undo, save, reread, preview), word,
        element("h2", {}, "Findings"), findings, failing.panel, editor.panel, createErrands(desk),
        element("h2", {}, "Change it"), form,
    );
    draw();
    view.eachFrame.push(curves.draw);
    void desk.follow(async (news) => {
        if (news.revision !== shown.revision) return take(await desk.shown());
        const bar = findings.querySelector("progress");
        if (bar !== null && news.stage !== "") bar.value = news.share;
        return undefined;
    });
}

function button(text: string, act: () => Promise<void>): HTMLButtonElement {
    const made = element("button", { type: "button" }, text);
    made.addEventListener("click", () => void act());
    return made;
}
