import { element } from "./element";
import { createFailureForm, type FailureForm, type WrongCell } from "./failure-form";
import { failuresOf, isTold, NOTHING, SOUND, spokenEntry, type Entry, type Thing, type Told, toldOf } from "./inspected";

export interface ThingActs {
    /** Say this of a thing in place of what was said before: what is wrong with it, else nothing. */
    tell: (thing: Thing, entries: Told[]) => Promise<WrongCell[]>;
    keepPhoto: (thing: Thing, photo: File) => Promise<{ name: string } | { wrong: string }>;
    /** A small picture of a photo beside the piece, by its name. */
    photo: (name: string) => Promise<Blob>;
    /** The thing that is being spoken of, to be seen on the piece. */
    choose: (thing: Thing) => void;
}

/** One thing of the form: sound or failed by one tap, and what was told of it. */
export function createInspectedThing(first: Thing, ways: string[], acts: ThingActs) {
    let thing = first;
    let open: FailureForm | null = null;
    let pictures: string[] = [];
    const of = `${thing.thing}${thing.circuit === "" ? "" : `, ${thing.circuit}`}`;
    const sound = button("Sound", `Sound: ${of}`);
    const failed = button("Failed", `Failed: ${of}`);
    const told = element("div");
    const place = element("div");
    const row = element("li", { class: "thing" }, element("p", {}, thing.thing), told, element("div", { class: "two" }, sound, failed), place);

    sound.addEventListener("click", () => {
        const notes = thing.entries.filter(({ note, photo }) => note !== "" || photo !== "");
        const next = isTold(thing) ? "" : SOUND; // a second tap takes it back
        const kept = notes.map((entry) => ({ ...toldOf(entry), failed: next }));
        void acts.tell(thing, kept.length > 0 ? kept : [{ ...NOTHING, failed: next }]);
    });
    failed.addEventListener("click", () => { if (open === null) ask(NOTHING, -1); else leave(); });

    /** Ask about a failure: a new one, or the one at this place among the entries. */
    function ask(begin: Told, number: number): FailureForm {
        acts.choose(thing);
        const mine = createFailureForm(thing, ways, begin, {
            leave,
            keepPhoto: (photo) => acts.keepPhoto(thing, photo),
            write: async (said) => {
                const before = thing.entries.map(toldOf);
                const now = number < 0 ? [...before.filter((each) => each.failed !== SOUND), said] : before.with(number, said);
                const wrong = await acts.tell(thing, now);
                if (wrong.length === 0 && open === mine) leave(); // unless the next one is asked for already
                return wrong;
            },
        });
        open = mine;
        failed.setAttribute("aria-expanded", "true");
        place.replaceChildren(mine.form);
        mine.focus();
        return mine;
    }

    function leave(): void {
        open = null;
        place.replaceChildren();
        failed.setAttribute("aria-expanded", "false");
        failed.focus();
    }

    function entryOf(entry: Entry, number: number): HTMLElement {
        const words = spokenEntry(entry);
        const change = button("Change", `Change: ${words}, ${of}`);
        change.addEventListener("click", () => ask(toldOf(entry), number));
        const out = button("Take out", `Take out: ${words}, ${of}`);
        out.addEventListener("click", () => void acts.tell(thing, thing.entries.filter((_, i) => i !== number).map(toldOf)));
        const made = element("div", { class: "entry" }, element("p", {}, words));
        if (entry.photo !== "") void picture(made.firstElementChild!, entry.photo);
        made.append(element("div", { class: "two" }, change, out));
        return made;
    }

    async function picture(after: Element, name: string): Promise<void> {
        const address = URL.createObjectURL(await acts.photo(name));
        pictures.push(address);
        after.after(element("img", { src: address, alt: `Photo of ${of}: ${name}` }));
    }

    /** The thing as the form has it now. */
    function show(next: Thing): void {
        const isSame = JSON.stringify(next.entries) === JSON.stringify(thing.entries) && row.dataset.shown !== undefined;
        thing = next;
        if (isSame) return;
        row.dataset.shown = "";
        const failures = failuresOf(thing);
        sound.setAttribute("aria-pressed", String(isTold(thing) && failures.length === 0));
        sound.hidden = failures.length > 0; // what was told in many words isn't wiped away by one tap
        failed.firstChild!.textContent = failures.length > 0 ? "Something else failed" : "Failed";
        failed.setAttribute("aria-label", `${failed.textContent}: ${of}`);
        pictures.forEach((address) => URL.revokeObjectURL(address));
        pictures = [];
        told.replaceChildren(...thing.entries.flatMap((entry, number) =>
            entry.failed === "" || entry.failed === SOUND ? notes(entry) : [entryOf(entry, number)]));
    }

    function notes({ note, photo }: Entry): HTMLElement[] {
        return [note, photo].filter((each) => each !== "").map((each) => element("p", { class: "basis" }, each));
    }

    /** Ask about a failure at this pixel of the run. */
    function pointAt(pixel: number): void {
        (open ?? ask(NOTHING, -1)).pointAt(pixel);
        row.scrollIntoView({ block: "nearest" });
    }

    show(first);
    return { row, show, pointAt };
}

export type InspectedThing = ReturnType<typeof createInspectedThing>;

function button(text: string, name: string): HTMLButtonElement {
    return element("button", { type: "button", "aria-label": name }, text);
}
