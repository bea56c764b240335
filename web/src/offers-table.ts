import { element } from "./element";
import type { Offers } from "./offers";

const [HEAD, WIDEST] = [8.5, 13]; // widths of columns [rem]

/** Candidates side by side, one column each; the head of a column chooses it. */
export function offersTable(offers: Offers, choose: (number: number) => void) {
    const heads = Array.from({ length: offers.count }, (_, index) => {
        const head = element("button", { type: "button", "aria-pressed": "false", "aria-label": `look at candidate ${index + 1}` }, String(index + 1));
        head.addEventListener("click", () => choose(index + 1));
        return head;
    });
    const table = element("table", {},
        element("caption", { class: "apart" }, "Candidates side by side"),
        element("thead", {}, element("tr", {}, element("td"), ...heads.map((head) => element("th", { scope: "col" }, head)))));
    for (const { title, rows } of offers.parts)
        table.append(element("tbody", {},
            element("tr", { class: "part" }, element("th", { scope: "rowgroup", colspan: String(offers.count + 1) }, title)),
            ...rows.map((row) => element("tr", {}, element("th", { scope: "row" }, row.title), ...row.values.map((value) => element("td", {}, ...words(value)))))));
    table.style.maxWidth = `${HEAD + WIDEST * offers.count}rem`; // a few columns needn't fill a wide window
    const place = element("div", { class: "offers-table", role: "region", "aria-label": "Table of candidates", tabindex: "0" }, table);

    function mark(number: number): void {
        heads.forEach((head, index) => head.setAttribute("aria-pressed", String(index + 1 === number)));
        for (const row of table.rows)
            [...row.cells].forEach((cell, index) => cell.classList.toggle("chosen", index === number && row.cells.length > 1));
    }
    return { place, mark };
}

/** A value word by word, so that a part's name goes to a line of its own before it is broken. */
const words = (value: string) => value.split(" ").flatMap((word) => [element("span", {}, word), " "]);
