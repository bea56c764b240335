import { element } from "./element";
import type { Field, Problem } from "./scene";

/**
 * The piece file as a form: each value where it stands, in the units it was spoken in.
 *
 * `change` is called when the maker leaves a value that differs; what is wrong with it stands below it.
 */
export function createChangeForm(place: HTMLElement, change: (field: Field, value: string) => Promise<Problem[]>) {
    let fields: Field[] = [];

    function show(next: Field[]): void {
        // news of findings must not wipe away what is being typed
        if (JSON.stringify(next) === JSON.stringify(fields)) return;
        const focused = document.activeElement instanceof HTMLInputElement ? document.activeElement.dataset.path : undefined;
        const open = new Set([...place.querySelectorAll("details[open]")].map((each) => each.getAttribute("data-table")));
        const isFirst = fields.length === 0;
        fields = next;
        const tables = [...new Set(fields.map((field) => field.table))];
        place.replaceChildren(...tables.map((table) => {
            const made = element("details", { "data-table": table }, element("summary", {}, table));
            made.open = isFirst ? table === "show" : open.has(table);
            made.append(...fields.filter((field) => field.table === table).map(row));
            return made;
        }));
        if (focused !== undefined) place.querySelector<HTMLInputElement>(`input[data-path='${CSS.escape(focused)}']`)?.focus();
    }

    function row(field: Field): HTMLElement {
        const path = JSON.stringify(field.path);
        const input = element("input", { type: "text", value: field.value, "data-path": path, spellcheck: "false" });
        const wrong = element("div", { class: "wrong", role: "alert" });
        const label = element("label", {}, element("span", {}, field.key.replaceAll("_", " ")), input);
        input.addEventListener("change", async () => {
            if (input.value === field.value) return wrong.replaceChildren();
            const problems = await change(field, input.value);
            input.toggleAttribute("aria-invalid", problems.length > 0);
            wrong.replaceChildren(...problems.map(problemText));
        });
        const made = element("div", { class: "field" }, label, wrong);
        if (field.gives !== "") made.append(element("p", { class: "basis" }, `gives ${field.gives}`));
        if (field.comment !== "") made.append(element("p", { class: "basis" }, field.comment));
        return made;
    }
    return { show };
}

function problemText(problem: Problem): HTMLElement {
    const where = problem.line === null ? "" : `line ${problem.line}: `;
    return element("p", {}, `${where}${problem.summary}; found ${problem.found}; allowed: ${problem.allowed}; do: ${problem.do}`);
}
