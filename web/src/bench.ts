import { createChangeForm } from "./change-form";
import type { Desk } from "./desk";
import { byId, element } from "./element";
import { createErrands } from "./errands";
import { createFileSide } from "./file-side";
import { createFaultSwitches } from "./fault-switches";
import { findingsList } from "./findings";
import { createInspection } from "./inspection";
import { createLookEditor } from "./look-editor";
import { createProbe } from "./probe";
import type { Shown } from "./scene";
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
    const file = createFileSide(desk, "Write the file", first, take);
    const editor = createLookEditor(desk, view, () => shown);
    createProbe(desk, view, () => (editor.isTrying() ? null : shown)); // a look that is tried isn't the piece's yet
    const failing = createFaultSwitches(desk, view.suffer);
    const inspection = createInspection(desk, view, () => shown.scene);
    const curves = createTraces(byId("traces"), view.clock);
    const fields = createChangeForm(form, file.change);

    async function take(next: Shown): Promise<void> {
        const isNew = next.number !== shown.number;
        shown = next;
        if (isNew) editor.giveWay();
        if (isNew) await view.show(shown.scene);
        if (isNew) inspection.giveWay();
        draw();
    }

    function draw(): void {
        fields.show(shown);
        file.show(shown);
        drawFindings();
        if (shown.traces !== null) curves.show(shown.traces, shown.findings ?? []);
        failing.take(shown.number);
        if (shown.mayFlash && !hasWarned) warnOfFlashes(view.clock.play);
        hasWarned ||= shown.mayFlash;
        if (isAwaited && shown.isScreened) {
            isAwaited = false;
            view.clock.play(!shown.mayFlash);
        }
    }

    /** Those of the state before stay until the new ones are there, so that nothing jumps below the maker's hand. */
    function drawFindings(): void {
        const unfolded = [...findings.querySelectorAll("details[open]")].map((each) => each.getAttribute("data-fold"));
        const before = [...findings.querySelectorAll(".finding, .counts, details")].filter((each) => each.parentElement?.closest("details") === null);
        const now = findingsList(shown.findings, shown.isEstimate, desk.explain, standStillAt);
        if (shown.findings === null) {
            now.classList.add("estimate", "stale");
            now.append(...before);
        }
        findings.replaceChildren(now);
        for (const each of findings.querySelectorAll("details")) each.open = unfolded.includes(each.getAttribute("data-fold"));
    }

    /** A moment that somebody asks for is there to be looked at. */
    function standStillAt(seconds: number): void {
        view.clock.play(false);
        view.clock.seek(seconds);
    }

    byId("bench").replaceChildren(
        file.place,
        element("section", { "aria-labelledby": "found" }, element("h2", { id: "found" }, "Findings"), findings),
        failing.panel, editor.panel, createErrands(desk, () => shown.scene.name), inspection.panel,
        element("section", { "aria-labelledby": "change" }, element("h2", { id: "change" }, "Change it"), form),
    );
    draw();
    if (window.location.hash === "#inspect") inspection.comeHere();
    view.eachFrame.push(curves.draw);
    void desk.follow(async (news) => {
        if (news.revision !== shown.revision) return take(await desk.shown());
        const bar = findings.querySelector("progress");
        if (bar !== null && news.stage !== "") bar.value = news.share;
        return undefined;
    });
}
