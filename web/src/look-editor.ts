import "./look-editor.css";
import type { Desk } from "./desk";
import { element } from "./element";
import type { Problem, Scene, Shown } from "./scene";
import type { View } from "./view";

interface Trial { scene: Scene; title: string }
interface Text { text: string; digest: string }

const QUIET = 300; // after the last key, before the text is read [ms]
const STILL = 1500; // after the last key, before the chip is asked what it costs [ms]

/** A look's text, read as it is typed: what is wrong at its line, else at once on the piece; and its cost. */
export function createLookEditor(desk: Desk, view: View, shown: () => Shown) {
    let isTrying = false;
    let digest = "";
    let timers: number[] = [];
    let asked = 0;

    const begin = element("select", { "aria-label": "Begin with the look" });
    const take = button("Take a copy", () => void takeCopy());
    const name = element("input", { type: "text", spellcheck: "false", maxlength: "40", value: "my-look" });
    const text = element("textarea", { spellcheck: "false", rows: "14", wrap: "off", "aria-label": "Text of the look", "aria-describedby": "look-wrong" });
    const wrong = element("div", { id: "look-wrong", class: "wrong", role: "alert" });
    const word = element("p", { class: "word", role: "status" });
    const cost = element("p", { class: "cost", role: "status" });
    const write = button("Write the look", () => void writeLook());
    const back = button("Back to the show", () => void leave());
    const panel = element("details", { class: "drawer", id: "look-editor" },
        element("summary", {}, "Write a look"),
        element("div", { class: "row" }, begin, take),
        element("label", { class: "find" }, "Name ", name),
        text, wrong, word, cost,
        element("div", { class: "row" }, write, back));
    back.disabled = true;

    panel.addEventListener("toggle", () => { if (panel.open && begin.length === 0) void list(); });
    text.addEventListener("input", later);
    name.addEventListener("input", later);

    async function list(): Promise<void> {
        const answer = await desk.read<{ own: string[]; library: string[] }>("looks");
        if (Array.isArray(answer)) return;
        const group = (label: string, names: string[]) =>
            element("optgroup", { label }, ...names.map((each) => element("option", { value: each }, each)));
        const chosen = begin.value;
        begin.replaceChildren(group("of this piece", answer.own), group("of the library", answer.library));
        begin.value = chosen || shown().scene.cues[0]?.look || answer.library[0]!;
    }

    async function takeCopy(): Promise<void> {
        const answer = await desk.read<Text>(`look/${encodeURIComponent(begin.value)}`);
        if (Array.isArray(answer)) return tell(answer);
        // a look of the piece is gone on with; one of the library stays as it is, so its copy gets a name of its own
        name.value = answer.digest === "" ? `my-${begin.value}` : begin.value;
        text.value = answer.text;
        if (answer.digest === "") {
            const own = await desk.read<Text>(`look/${encodeURIComponent(name.value)}`);
            digest = Array.isArray(own) ? "" : own.digest;
        } else digest = answer.digest;
        await attempt();
        await weigh();
    }

    function later(): void {
        timers.forEach((timer) => window.clearTimeout(timer));
        cost.textContent = "";
        timers = [window.setTimeout(() => void attempt(), QUIET), window.setTimeout(() => void weigh(), STILL)];
    }

    const given = () => ({ number: shown().number, name: name.value, text: text.value, digest });

    async function attempt(): Promise<boolean> {
        const mine = ++asked;
        const answer = await desk.read<Trial>("look-try", given());
        if (mine !== asked) return false;
        if (Array.isArray(answer)) {
            tell(answer);
            return false;
        }
        tell([]);
        if (!isTrying) view.clock.play(false); // nobody has looked for flashes in it yet
        isTrying = true;
        back.disabled = false;
        word.textContent = `${answer.title || name.value}: on the piece now, for the whole show. Nobody has looked for flashes in it: press Play knowingly.`;
        await view.tryScene(answer.scene);
        return true;
    }

    async function weigh(): Promise<void> {
        if (wrong.childElementCount > 0 || text.value === "") return;
        const mine = asked;
        cost.textContent = "An emulated chip is being asked what it costs.";
        const answer = await desk.read<{ told: string }>("look-cost", given());
        if (mine === asked) cost.textContent = Array.isArray(answer) ? "" : answer.told;
    }

    async function writeLook(): Promise<void> {
        // a text that still waits to be tried is tried now: later it would be held against the file just written
        timers.forEach((timer) => window.clearTimeout(timer));
        await attempt();
        const answer = await desk.read<{ digest: string }>("look-write", given());
        if (Array.isArray(answer)) return tell(answer);
        digest = answer.digest;
        void weigh();
        word.textContent = `looks/${name.value}.look is written; a cue takes it by look = "${name.value}"`;
        return list();
    }

    async function leave(): Promise<void> {
        [isTrying, back.disabled, word.textContent, cost.textContent] = [false, true, "", ""];
        ++asked;
        await view.tryScene(shown().scene);
    }

    /** The piece has come to another state, which is shown in place of what was tried. */
    function giveWay(): void {
        [isTrying, back.disabled] = [false, true];
        ++asked;
    }

    /** Say what is wrong, each with a way to its place. */
    function tell(problems: Problem[]): void {
        text.toggleAttribute("aria-invalid", problems.length > 0);
        wrong.replaceChildren(...problems.map((problem) => {
            const where = problem.line === null ? "" : `line ${problem.line}, column ${problem.column}: `;
            const made = button(`${where}${problem.summary}; found ${problem.found}; allowed: ${problem.allowed}; do: ${problem.do}`, () => goTo(problem));
            made.className = "problem";
            return made;
        }));
        if (problems.length > 0) word.textContent = isTrying ? "The piece shows what was right last." : "";
    }

    function goTo(problem: Problem): void {
        if (problem.line === null) return name.focus();
        const before = text.value.split("\n").slice(0, problem.line - 1).reduce((sum, line) => sum + line.length + 1, 0);
        const at = before + (problem.column ?? 1) - 1;
        text.focus();
        text.setSelectionRange(at, at + 1);
    }

    return { panel, giveWay, isTrying: () => isTrying };
}

function button(text: string, act: () => void): HTMLButtonElement {
    const made = element("button", { type: "button" }, text);
    made.addEventListener("click", act);
    return made;
}
