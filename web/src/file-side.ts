import { button } from "./button";
import type { Change } from "./change-form";
import type { Desk } from "./desk";
import { element } from "./element";
import type { Form, Problem } from "./scene";

/** What every page of a file knows of it. */
export interface Standing extends Form {
    revision: number;
    /** of the state that is shown */
    number: number;
    isSaved: boolean;
    canUndo: boolean;
    progress: { stage: string; share: number };
}

/**
 * The way between what is shown and its file: a change, undo, write, take; and a word on how the two stand.
 *
 * `take` is called with what is shown after each.
 */
export function createFileSide<Known extends Standing>(desk: Desk<Known>, writes: string, first: Known, take: (next: Known) => Promise<void>) {
    let shown = first;
    let refusal = ""; // stands until something else is asked for, whatever news comes meanwhile
    const word = element("p", { id: "word", role: "status" });
    const undo = button("Undo", () => act("undo"));
    const save = button(writes, () => act("save"));
    const reread = button("Take the file", () => act("reread"));
    const place = element("div", { id: "file" }, element("div", { class: "row" }, undo, save, reread), word);

    async function act(what: string, given: unknown = {}): Promise<void> {
        refusal = "";
        const answer = await desk.ask(what, given);
        if (Array.isArray(answer)) say(answer);
        else await take(answer);
    }

    /** Tell what is wrong where no field is at fault. */
    function say(problems: readonly Problem[]): void {
        refusal = problems.map((problem) => `${problem.summary}: ${problem.do}`).join(" ");
        tell();
    }

    function tell(): void {
        const text = refusal || (shown.isSaved ? "as in the file" : "changed, not yet written");
        if (word.textContent !== text) word.textContent = text;
        word.classList.toggle("wrong", refusal !== "");
    }

    /** Change the file's text at one place; what is wrong with that is for its field to tell. */
    const change: Change = async (what, path, value) => {
        const answer = await desk.ask(what, { number: shown.number, path, ...(value === undefined ? {} : { value }) });
        if (Array.isArray(answer)) return answer;
        await take(answer);
        return [];
    };

    function show(next: Known): void {
        shown = next;
        undo.disabled = !shown.canUndo;
        save.disabled = shown.isSaved;
        tell();
    }

    return { place, act, change, say, show };
}
