import { element } from "./element";

/** Put buttons of which one is chosen. */
export function choices<Choice extends string>(
    place: HTMLElement,
    all: readonly Choice[],
    first: Choice,
    choose: (choice: Choice) => void,
): void {
    const buttons = all.map((choice) => {
        const isFirst = choice === first;
        const button = element("button", { type: "button", role: "radio", "aria-checked": String(isFirst) }, choice);
        button.addEventListener("click", () => {
            for (const other of buttons) other.setAttribute("aria-checked", String(other === button));
            choose(choice);
        });
        return button;
    });
    place.append(...buttons);
}
