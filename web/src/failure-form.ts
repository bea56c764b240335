import { element } from "./element";
import type { Thing, Told } from "./inspected";

/** What is wrong with one cell. */
export interface WrongCell { cell: string; text: string }

interface Acts {
    /** Write it down: what is wrong with it, else nothing. */
    write: (told: Told) => Promise<WrongCell[]>;
    leave: () => void;
    /** Keep a photo beside the piece: its name in the form, or what is wrong with it. */
    keepPhoto: (photo: File) => Promise<{ name: string } | { wrong: string }>;
}

let made = 0;

/** Asks how one thing failed, where and when; what can't be read is told at its own field. */
export function createFailureForm(thing: Thing, ways: string[], begin: Told, acts: Acts) {
    const id = `failure-${++made}`;
    const wrong = new Map<string, HTMLElement>();
    const inputs = new Map<string, HTMLElement>();

    function place(cell: string): HTMLElement {
        const told = element("div", { class: "wrong", role: "alert", id: `${id}-${cell}` });
        wrong.set(cell, told);
        return told;
    }

    function asked(cell: keyof Told, words: string, kind: Record<string, string> = {}): [HTMLInputElement, HTMLElement] {
        const input = element("input", { type: "text", spellcheck: "false", autocomplete: "off", "aria-describedby": `${id}-${cell}`, ...kind });
        input.value = begin[cell];
        inputs.set(cell, input);
        return [input, element("div", {}, element("label", { class: "asked" }, words, input), place(cell))];
    }

    const radios = ways.map((way) => {
        const radio = element("input", { type: "radio", name: id, value: way });
        radio.checked = way === begin.failed || ways.length === 1;
        return radio;
    });
    const how = element("fieldset", { "aria-describedby": `${id}-failed` }, element("legend", {}, "How did it fail?"),
        ...radios.map((radio) => element("label", { class: "way" }, radio, radio.value)));
    inputs.set("failed", radios[0]!);
    const isStrip = thing.sort === "strip";
    const reach = `Pixel ${thing.first} to ${thing.first + thing.count - 1}, or such as 2.3 m; or tap it on the piece`;
    const [at, atPlace] = asked("at", isStrip ? `Where? ${reach}` : "Where along it? Such as 0.4 m");
    const [minute, minutePlace] = asked("minute", "When? Minutes after switching on", { inputmode: "numeric" });
    const [note, notePlace] = asked("note", "Note", { spellcheck: "true" });
    const [photo, photoPlace] = asked("photo", "Photo, by its place beside the piece");
    const choose = element("input", { type: "file", accept: "image/jpeg,image/png" });
    choose.addEventListener("change", () => void keep());

    const leave = element("button", { type: "button" }, "Leave it");
    leave.addEventListener("click", acts.leave);
    const form = element("form", { class: "failure", "aria-label": `How it failed: ${thing.thing}`, novalidate: "" },
        how, place("failed"));
    if (thing.where !== "") form.append(atPlace);
    if (thing.isTimed) form.append(minutePlace);
    form.append(notePlace, element("label", { class: "asked" }, "Take or choose a photo", choose), photoPlace,
        element("div", { class: "two" }, element("button", { type: "submit" }, "Write it down"), leave));
    form.addEventListener("submit", (event) => { event.preventDefault(); void write(); });

    function tell(problems: WrongCell[]): void {
        for (const [cell, told] of wrong) {
            const own = problems.filter((problem) => problem.cell === cell);
            told.replaceChildren(...own.map(({ text }) => element("p", {}, text)));
            inputs.get(cell)!.toggleAttribute("aria-invalid", own.length > 0);
        }
        if (problems.length > 0) inputs.get(problems[0]!.cell)?.focus();
    }

    async function write(): Promise<void> {
        const chosen = radios.find((radio) => radio.checked);
        if (chosen === undefined) return tell([{ cell: "failed", text: "Choose one of these." }]);
        tell(await acts.write({ failed: chosen.value, at: at.value, minute: minute.value, photo: photo.value, note: note.value }));
    }

    async function keep(): Promise<void> {
        const file = choose.files?.[0];
        if (file === undefined) return;
        const kept = await acts.keepPhoto(file);
        if ("name" in kept) photo.value = kept.name;
        tell("wrong" in kept ? [{ cell: "photo", text: kept.wrong }] : []);
    }

    /** The pixel that was tapped on the piece. */
    function pointAt(pixel: number): void {
        at.value = String(pixel);
        tell([]);
    }

    return { form, pointAt, focus: () => (radios.find((radio) => radio.checked) ?? radios[0]!).focus() };
}

export type FailureForm = ReturnType<typeof createFailureForm>;
