import { element } from "./element";

/** Make a button that does something. */
export function button(text: string, act: () => Promise<void> | void): HTMLButtonElement {
    const made = element("button", { type: "button" }, text);
    made.addEventListener("click", () => void act());
    return made;
}
