import { element } from "./element";

const STEPS: Record<string, number> = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/** Put buttons of which one is chosen; it alone is reached by Tab, the others from it by the arrow keys. */
export function choices<Choice extends string>(
    place: HTMLElement,
    all: readonly Choice[],
    first: Choice,
    choose: (choice: Choice) => void,
): void {
    const buttons = all.map((choice, index) => {
        const button = element("button", { type: "button", role: "radio" }, choice);
        button.addEventListener("click", () => {
            mark(button);
            choose(choice);
        });
        button.addEventListener("keydown", (event) => {
            const step = STEPS[event.key];
            if (step === undefined) return;
            event.preventDefault();
            const next = buttons[(index + step + buttons.length) % buttons.length]!;
            next.focus();
            next.click();
        });
        return button;
    });
    const mark = (chosen: HTMLElement | undefined) => {
        for (const each of buttons) {
            each.setAttribute("aria-checked", String(each === chosen));
            each.tabIndex = each === chosen ? 0 : -1;
        }
    };
    mark(buttons[all.indexOf(first)]);
    place.append(...buttons);
}
