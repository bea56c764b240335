import "./change-form.css";
import { element } from "./element";
import { createField } from "./field";
import { problemText } from "./problem";
import type { Field, Form, Path, Problem, Table } from "./scene";

/** Asks for a change of the piece file; what is wrong with it comes back. */
export type Change = (what: "change" | "take-out" | "copy", path: Path, value?: string) => Promise<Problem[]>;

/**
 * The piece file as a form: each value where it stands, in the units it was spoken in, and below it what its table leaves
 * at a default. A table's rows are made when it is unfolded.
 *
 * `change` is called when the maker leaves a value that differs; what is wrong with it stands below it. `unfolded` are the
 * tables whose rows are seen at first.
 */
export function createChangeForm(place: HTMLElement, change: Change, unfolded: readonly Path[] = [["show"]]) {
    let form: Form = { fields: [], tables: [], picks: {} };
    let shown = "";
    const open = new Set(unfolded.map((path) => JSON.stringify(path)));

    function show({ fields, tables, picks }: Form): void {
        // news of findings must not wipe away what is being typed
        const next = JSON.stringify([fields, tables, picks]);
        if (next === shown) return;
        [form, shown] = [{ fields, tables, picks }, next];
        const focused = (document.activeElement as HTMLElement | null)?.dataset.path;
        place.replaceChildren(...tables.filter(({ path }) => parentOf(path) === undefined).map(sheet));
        const found = focused === undefined ? null : place.querySelector<HTMLElement>(`[data-path='${CSS.escape(focused)}']`);
        found?.focus();
    }

    /** The nearest table around a path that has a place of its own in the form. */
    function parentOf(path: Path): string | undefined {
        for (let length = path.length - 1; length > 0; --length) {
            const around = JSON.stringify(path.slice(0, length));
            if (form.tables.some((table) => JSON.stringify(table.path) === around)) return around;
        }
        return undefined;
    }

    function sheet(table: Table): HTMLElement {
        const key = JSON.stringify(table.path);
        const hint = element("span", { class: "hint" }, table.hint);
        const inside = element("div", { class: "inside", role: "group", "aria-label": table.name });
        const made = element("details", { "data-table": key }, element("summary", { "data-path": key }, table.title, " ", hint), inside);
        const fill = () => {
            if (inside.childElementCount === 0) inside.append(...contents(table, key));
        };
        made.open = open.has(key);
        if (made.open) fill();
        made.addEventListener("toggle", () => {
            if (made.open) open.add(key);
            else open.delete(key);
            fill();
        });
        return made;
    }

    function contents(table: Table, key: string): HTMLElement[] {
        const own = form.fields.filter(({ path }) => JSON.stringify(path.slice(0, -1)) === key);
        const field = (each: Field) => createField(each, form.picks[each.picks], change);
        const made = own.filter((each) => each.value !== null).map(field);
        made.push(...form.tables.filter(({ path }) => parentOf(path) === key).map(sheet));
        const left = own.filter((each) => each.value === null);
        if (left.length > 0) made.push(atDefault(left, key, own.length === left.length, field));
        made.push(tableActions(table));
        return made;
    }

    /** What the file leaves out; where it leaves out all of a table, that is what the table shows. */
    function atDefault(left: Field[], key: string, isAll: boolean, field: (each: Field) => HTMLElement): HTMLElement {
        const name = `${key} left`;
        if (isAll) return element("div", { class: "left" }, ...left.map(field));
        const made = element("details", { class: "left", "data-table": name },
            element("summary", { "data-path": name }, `${left.length} left at ${left.length === 1 ? "its default" : "their defaults"}`),
            ...left.map(field));
        made.open = open.has(name);
        made.addEventListener("toggle", () => { if (made.open) open.add(name); else open.delete(name); });
        return made;
    }

    /** What can be done with a table as a whole. */
    function tableActions({ path, name, title, begins, mayCopy, mayGo }: Table): HTMLElement {
        const wrong = element("div", { class: "wrong", role: "alert" });
        const key = JSON.stringify(path);
        const act = (text: string, label: string, does: () => Promise<Problem[]>) => {
            const made = element("button", { type: "button", "aria-label": label, "data-path": `${key} ${text}` }, text);
            made.addEventListener("click", async () => {
                const problems = await does();
                wrong.replaceChildren(...problems.map(problemText));
            });
            return made;
        };
        const actions = begins.map((each) => {
            const word = each.key.replaceAll("_", " ");
            const made = act(`Add ${word}`, `Add ${word} to ${name}: ${each.means}`, () => change("change", each.path, ""));
            made.title = `${each.means}; left out: ${each.leftOut}`;
            return made;
        });
        if (mayCopy) actions.push(act("One more like it", `One more like ${name}`, () => change("copy", path)));
        if (mayGo) actions.push(act("Take it out", `Take ${name} out`, async () => {
            const problems = await change("take-out", path);
            if (problems.length === 0) place.querySelector<HTMLElement>(`summary[data-path='${CSS.escape(parentOf(path) ?? "")}']`)?.focus();
            return problems;
        }));
        if (actions.length === 0) return element("div", {});
        return element("div", { class: "table-actions", "data-title": title }, element("div", { class: "row" }, ...actions), wrong);
    }
    return { show };
}
