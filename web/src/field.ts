import type { Change } from "./change-form";
import { element } from "./element";
import { problemText } from "./problem";
import type { Field } from "./scene";

const COLOUR = /^#[0-9a-f]{6}$/i;

let made = 0;

/**
 * One key of the piece file to be set: typed, picked from a list, or a colour from the palette.
 *
 * Emptied, or by its own button, it is taken out of the file and its default holds again.
 */
export function createField(field: Field, picks: [string, string][] | undefined, change: Change): HTMLElement {
    const id = `field-${++made}`;
    const word = field.key.replaceAll("_", " ");
    const wrong = element("div", { class: "wrong", role: "alert", id: `${id}-wrong` });
    const rest = element("span", { class: "unseen" }, `; ${restOf(field)}`);
    const help = element("p", { class: "basis", id: `${id}-help` }, field.means, rest);
    const common = { id, title: restOf(field), "data-path": JSON.stringify(field.path), "aria-describedby": `${id}-help ${id}-wrong` };
    const input = picks === undefined ? typed(field, common) : picked(field, picks, common);

    async function leave(value: string): Promise<void> {
        if (value === (field.value ?? "")) return wrong.replaceChildren();
        const isOut = value.trim() === "" && field.mayGo;
        const problems = isOut ? await change("take-out", field.path) : await change("change", field.path, value);
        input.toggleAttribute("aria-invalid", problems.length > 0);
        wrong.replaceChildren(...problems.map(problemText));
    }
    input.addEventListener("change", () => void leave(input.value));
    input.addEventListener("keydown", (event) => {
        if ((event as KeyboardEvent).key !== "Escape") return;
        input.value = field.value ?? "";
        input.removeAttribute("aria-invalid");
        wrong.replaceChildren();
    });

    const line = element("div", { class: "line" }, element("label", { for: id }, word), input);
    if (field.isColour || COLOUR.test(field.value ?? "")) line.append(palette(field, word, leave));
    if (field.mayGo) line.append(takeOut(field, word, () => leave("")));
    const whole = element("div", { class: field.value === null ? "field unset" : "field" }, line, wrong);
    if (field.gives !== "") whole.append(element("p", { class: "basis" }, `gives ${field.gives}`));
    whole.append(help);
    if (field.comment !== "") whole.append(element("p", { class: "basis comment" }, field.comment));
    return whole;
}

/** What is allowed, and what holds without it: told by a pointer that rests on it, and by a screen reader. */
function restOf({ takes, leftOut }: Field): string {
    return [takes === "" ? "" : `takes ${takes}`, leftOut === "" ? "" : `left out: ${leftOut}`].filter((part) => part !== "").join("; ");
}

function typed(field: Field, common: Record<string, string>): HTMLInputElement {
    const made = element("input", { ...common, type: "text", spellcheck: "false", autocomplete: "off" });
    made.value = field.value ?? "";
    if (field.value === null) made.placeholder = field.leftOut;
    return made;
}

function picked(field: Field, picks: [string, string][], common: Record<string, string>): HTMLSelectElement {
    const options = picks.map(([value, said]) => element("option", { value }, said === "" ? value : `${value}: ${said}`));
    const value = field.value ?? "";
    if (value !== "" && !picks.some(([each]) => each === value)) options.unshift(element("option", { value }, value));
    if (field.leftOut !== "") options.unshift(element("option", { value: "" }, `left out: ${field.leftOut}`));
    const made = element("select", common, ...options);
    made.value = value;
    return made;
}

function palette(field: Field, word: string, leave: (value: string) => Promise<void>): HTMLInputElement {
    const now = [field.value ?? "", field.leftOut].find((each) => COLOUR.test(each)) ?? "#000000";
    const made = element("input", { type: "color", value: now, "aria-label": `${word}, from a palette` });
    made.addEventListener("change", () => void leave(made.value));
    return made;
}

function takeOut(field: Field, word: string, act: () => Promise<void>): HTMLButtonElement {
    const about = `take ${word} out: back to ${field.leftOut}`;
    const made = element("button", { type: "button", class: "take-out", "aria-label": about, title: about }, "×");
    made.addEventListener("click", () => void act());
    return made;
}
