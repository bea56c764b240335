import "./fault-switches.css";
import type { Desk } from "./desk";
import { element } from "./element";

interface Fault { name: string; pixelsLit: number; passes: string }
interface Faults { number: number; faults: Fault[] }
interface Suffered { marks: string; told: string; holds: boolean; verdict: string }

const SHOWN = 12; // of all faults at once; the others are found by their names
const MOST_AT_ONCE = 8; // as the program has it

/** Every fault that the piece may suffer, worst first, each with a switch; the picture shows what is left. */
export function createFaultSwitches(desk: Desk, suffer: (marks: Uint8Array | null) => void) {
    let state = -1; // of the piece, by its number
    let known: Faults = { number: -1, faults: [] };
    let on: number[] = [];

    const list = element("ul", { class: "faults" });
    const more = element("p", { class: "basis" });
    const verdict = element("p", { class: "verdict", role: "status" });
    const search = element("input", { type: "search", spellcheck: "false" });
    const mend = element("button", { type: "button" }, "All mended");
    const panel = element("details", { class: "drawer", id: "failing" },
        element("summary", {}, "If something fails"),
        verdict,
        element("div", { class: "row" }, element("label", { class: "find" }, "Find a fault ", search), mend),
        list, more);

    panel.addEventListener("toggle", () => void load());
    search.addEventListener("input", draw);
    mend.addEventListener("click", () => void setOn([]));

    /** The piece is in another state: what was switched on is mended, and its faults are other ones. */
    function take(number: number): void {
        if (number === state) return;
        [state, on] = [number, []];
        verdict.textContent = "";
        void load();
    }

    async function load(): Promise<void> {
        if (!panel.open || known.number === state) return;
        more.textContent = "Every fault is being weighed.";
        const answer = await desk.read<Faults>("faults");
        if (!Array.isArray(answer)) known = answer;
        draw();
    }

    async function setOn(next: number[]): Promise<void> {
        on = next.slice(-MOST_AT_ONCE);
        draw();
        if (on.length === 0) {
            verdict.textContent = "";
            return suffer(null);
        }
        const asked = on;
        const answer = await desk.read<Suffered>("suffer", { number: known.number, faults: on });
        if (asked !== on) return undefined; // something else was switched meanwhile
        if (Array.isArray(answer)) {
            verdict.textContent = answer.map((problem) => problem.summary).join(" ");
            return undefined;
        }
        suffer(Uint8Array.from(atob(answer.marks), (sign) => sign.charCodeAt(0)));
        verdict.classList.toggle("broken", !answer.holds);
        verdict.textContent = `${answer.told}. ${answer.verdict}`;
        return undefined;
    }

    function draw(): void {
        const words = search.value.toLowerCase().split(/\s+/).filter((word) => word !== "");
        const all = known.faults.map((fault, number) => ({ fault, number }));
        const found = all.filter(({ fault, number }) =>
            !on.includes(number) && words.every((word) => fault.name.toLowerCase().includes(word)));
        const rows = [...all.filter(({ number }) => on.includes(number)), ...found.slice(0, SHOWN)];
        const focused = (document.activeElement as HTMLElement | null)?.dataset.fault;
        list.replaceChildren(...rows.map(({ fault, number }) => element("li", {}, toggle(fault, number))));
        list.querySelector<HTMLElement>(`[data-fault="${focused}"]`)?.focus();
        const hidden = found.length - SHOWN;
        more.textContent = found.length === 0 ? "No other fault has such a name." : hidden > 0 ? `and ${hidden} that cost less` : "";
        mend.disabled = on.length === 0;
    }

    function toggle(fault: Fault, number: number): HTMLButtonElement {
        const isOn = on.includes(number);
        const passes = fault.passes === "" ? "" : `, mends itself after ${fault.passes}`;
        const made = element("button", { type: "button", role: "switch", "aria-checked": String(isOn), "data-fault": String(number) },
            element("span", {}, fault.name), element("span", { class: "basis" }, `${(100 * fault.pixelsLit).toFixed(fault.pixelsLit > 0.99 ? 1 : 0)} % lit${passes}`));
        made.addEventListener("click", () => void setOn(isOn ? on.filter((each) => each !== number) : [...on, number]));
        return made;
    }

    return { panel, take };
}
