import { button } from "./button";
import { byId, element } from "./element";
import { findingsList } from "./findings";
import type { Candidate } from "./offers";
import { createView, warnOfFlashes, type View } from "./view";

/** One candidate: the piece glowing, why it is as it is, what its sign-off found, its file. */
export function createCandidateSide(explain: (code: string) => Promise<string>) {
    let view: View | undefined;
    const glow = element("div", { class: "glow" }, byId("view"), byId("night"));
    const told = element("div", { class: "told" });

    async function show(number: number, candidate: Candidate): Promise<void> {
        glow.hidden = false;
        byId("asked").hidden = true;
        if (view === undefined) view = await createView(candidate.scene, candidate.mayFlash);
        else {
            await view.show(candidate.scene);
            if (candidate.mayFlash) warnOfFlashes(view.clock.play);
        }
        told.replaceChildren(
            element("section", { "aria-label": "Reasons" }, element("h2", {}, `Why candidate ${number} is as it is`), reasons(candidate), file(candidate)),
            element("section", { "aria-label": "Findings" }, element("h2", {}, "What its sign-off found"), findingsList(candidate.findings, false, explain, seek)),
        );
    }

    function seek(seconds: number): void {
        view?.clock.play(false);
        view?.clock.seek(seconds);
        byId("canvas").scrollIntoView({ block: "nearest" });
    }

    function hide(): void {
        glow.hidden = true;
        told.replaceChildren();
    }

    hide();
    return { glow, told, show, hide };
}

function reasons(candidate: Candidate): HTMLElement {
    return element("dl", { class: "reasons" }, ...candidate.reasons.flatMap((each) => [element("dt", {}, each.decision), element("dd", {}, each.reason)]));
}

function file(candidate: Candidate): HTMLElement {
    const text = element("pre", { class: "page", tabindex: "0", "aria-label": "The piece file" }, candidate.text);
    return element("details", {}, element("summary", {}, "The piece file"), text);
}

/** A name, and a button that writes the piece file by it. */
export function createWriteRow(write: (name: string) => Promise<string>) {
    const name = element("input", { type: "text", spellcheck: "false" });
    const wrong = element("p", { class: "wrong", role: "alert" });
    const act = button("Write it", async () => { wrong.textContent = await write(name.value.trim()); });
    let offered = "";

    /** Offer a name that is free; one that was typed stays. */
    function offer(free: string, isAllowed: boolean): void {
        if (name.value === offered) name.value = free;
        offered = free;
        act.disabled = !isAllowed;
    }
    const place = element("div", { class: "row write" }, act, element("label", {}, "as ", name), wrong);
    return { place, offer };
}
