import { element } from "./element";
import type { Offers } from "./offers";

const STEPS: Record<string, number> = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/** The program's own picture of the candidates; its marks are chosen by a click, or by the arrow keys. */
export function createOffersPicture(fetchPicture: (width: number) => Promise<string>, choose: (number: number) => void) {
    const place = element("div", { class: "offers-picture" });
    let marks: SVGGElement[] = [];
    let chosen = 1;
    let width = 0;

    async function draw(offers: Offers): Promise<void> {
        width = place.clientWidth;
        const text = await fetchPicture(width);
        const drawn = document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
        drawn.setAttribute("role", "radiogroup");
        drawn.setAttribute("aria-label", "Candidates by cost and by the chance that the brief's demand fails");
        marks = [...drawn.querySelectorAll<SVGGElement>(".candidate")].sort((one, other) => numberOf(one) - numberOf(other));
        for (const each of marks) {
            each.setAttribute("role", "radio");
            each.setAttribute("aria-label", labelOf(offers, numberOf(each)));
            each.addEventListener("click", () => choose(numberOf(each)));
            each.addEventListener("keydown", onKey);
        }
        place.replaceChildren(drawn);
        mark(chosen);
    }

    function onKey(event: KeyboardEvent): void {
        const step = STEPS[event.key] ?? (event.key === " " || event.key === "Enter" ? 0 : undefined);
        if (step === undefined) return;
        event.preventDefault();
        const at = marks.indexOf(event.currentTarget as SVGGElement);
        const next = marks[(at + step + marks.length) % marks.length]!;
        choose(numberOf(next));
        next.focus();
    }

    function mark(number: number): void {
        chosen = number;
        for (const each of marks) {
            const is = numberOf(each) === number;
            each.setAttribute("aria-checked", String(is));
            each.setAttribute("tabindex", is ? "0" : "-1");
        }
    }

    /** Whether the room has changed since it was drawn. */
    const isOutgrown = () => Math.abs(place.clientWidth - width) > 8;
    return { place, draw, mark, isOutgrown };
}

const numberOf = (mark: SVGGElement) => Number(mark.dataset.number);

function labelOf(offers: Offers, number: number): string {
    const told = (title: string) => offers.parts.flatMap((part) => part.rows).find((row) => row.title === title)?.values[number - 1] ?? "";
    return `candidate ${number}: cost ${told("cost")}, odds ${told("odds")}, light ${told("light")}`;
}
