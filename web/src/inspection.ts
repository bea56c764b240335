import "./inspection.css";
import type { Desk } from "./desk";
import { element } from "./element";
import type { WrongCell } from "./failure-form";
import { createInspectedThing, type InspectedThing } from "./inspected-thing";
import { failuresOf, isTold, keyOf, type Inspected, spokenEntry, type Thing, type Told } from "./inspected";
import type { Problem, Scene } from "./scene";
import { MARK } from "./suffering";
import type { View } from "./view";

interface CellProblem extends Problem { cell?: string }

const MOST_PHOTO = 16e6; // bytes that the program keeps of one photo

/** After the show: the form of what failed, filled thing by thing; each answer is in the file beside the piece at once. */
export function createInspection(desk: Desk, view: View, scene: () => Scene) {
    let form: Inspected | null = null;
    let things = new Map<string, InspectedThing>();
    let chosen: Thing | null = null;
    let waiting: Promise<unknown> = Promise.resolve();
    let mapAddress = "";
    let isSure = false;

    const word = element("p", { class: "word", role: "status" });
    const bar = element("progress", { "aria-label": "Things told of so far", value: "0" });
    const wrong = element("div", { class: "wrong", role: "alert" });
    const again = button("Take the form as it is now", () => void load());
    const circuits = element("div");
    const map = element("img", { class: "map", alt: "" });
    const next = element("p", { class: "word" });
    const anew = button("Begin a new form", () => void beginAnew());
    const panel = element("details", { class: "drawer", id: "inspection" },
        element("summary", {}, "After the show: inspect it"), word, bar, wrong, again, circuits, map, next, anew);
    again.hidden = map.hidden = anew.hidden = true;
    panel.addEventListener("toggle", () => { if (panel.open) void load(); else mark(); });
    view.onPick.push((index) => { if (panel.open && form !== null) pointAt(index); });

    async function load(): Promise<void> {
        await take(() => desk.read<Inspected>("inspection"));
        if (form !== null && form.told < form.things.length) openFirstUntold();
    }

    /** Ask one thing after the other, so that each knows what the one before it has left; return what is wrong. */
    function take(ask: () => Promise<Inspected | CellProblem[]>): Promise<CellProblem[]> {
        const mine = waiting.then(async () => {
            try {
                const answer = await ask();
                const problems = Array.isArray(answer) ? answer : [];
                complain(problems.filter(({ cell }) => cell === undefined).map(textOf));
                if (!Array.isArray(answer)) show(answer);
                return problems;
            } catch (error) {
                complain([(error as Error).message]);
                return [{ summary: "" } as CellProblem];
            }
        });
        waiting = mine;
        return mine;
    }

    function complain(texts: string[]): void {
        wrong.replaceChildren(...texts.map((text) => element("p", {}, text)));
        again.hidden = texts.length === 0;
    }

    async function tell(thing: Thing, entries: Told[]): Promise<WrongCell[]> {
        const problems = await take(() => desk.read<Inspected>("inspection/tell",
            { digest: form!.digest, circuit: thing.circuit, thing: thing.thing, entries }));
        return problems.map((problem) => ({ cell: problem.cell ?? "", text: textOf(problem) }));
    }

    async function keepPhoto(thing: Thing, photo: File): Promise<{ name: string } | { wrong: string }> {
        if (photo.size > MOST_PHOTO) return { wrong: `This photo has ${(photo.size / 1e6).toFixed(1)} MB; at most ${MOST_PHOTO / 1e6} MB are kept.` };
        try {
            const of = new URLSearchParams({ circuit: thing.circuit, thing: thing.thing });
            const answer = await desk.send<{ name: string }>(`inspection/photo?${of}`, photo);
            return Array.isArray(answer) ? { wrong: answer.map(textOf).join(" ") } : answer;
        } catch (error) {
            return { wrong: (error as Error).message };
        }
    }

    const acts = {
        tell,
        keepPhoto,
        photo: (name: string) => desk.made(`inspection/photo?${new URLSearchParams({ name })}`),
        choose: (thing: Thing) => { chosen = thing; mark(); },
    };

    function show(now: Inspected): void {
        const isOther = form === null || form.things.map(keyOf).join() !== now.things.map(keyOf).join();
        form = now;
        if (isOther) build(now);
        for (const thing of now.things) things.get(keyOf(thing))!.show(thing);
        for (const place of circuits.querySelectorAll<HTMLDetailsElement>(".circuit")) count(place);
        word.textContent = `${now.told} of ${now.things.length} told, ${now.failed} failed; kept in ${now.file}`;
        [bar.max, bar.value] = [now.things.length, now.told];
        const isAll = now.told === now.things.length;
        next.textContent = isAll ? `All is told. For the report and the shelf type: lampwright strike ${now.file.replace(/-inspection\.csv$/, ".toml")} --form ${now.file} --nights 1` : "";
        anew.hidden = now.digest === "";
        sure(false);
        mark();
        void draw(now).catch((error: Error) => complain([error.message]));
    }

    function build(now: Inspected): void {
        things = new Map(now.things.map((thing) => [keyOf(thing), createInspectedThing(thing, now.ways[thing.sort] ?? [], acts)]));
        const names = [...new Set(now.things.map(({ circuit }) => circuit))];
        circuits.replaceChildren(...names.map((name) => {
            const own = now.things.filter(({ circuit }) => circuit === name);
            const others = own.some(({ sort }) => sort === "outlet") ? "Outlets, members" : "Members";
            const title = name === "" ? `${others} and what is tied to them` : name;
            const rest = button(`The rest of ${name === "" ? "them" : name} is sound`, () => void soundRest(name));
            rest.className = "rest";
            return element("details", { class: "circuit", "data-circuit": name },
                element("summary", {}, element("span", { class: "name" }, title), element("span", { class: "basis" })),
                element("ul", { class: "things" }, ...own.map((thing) => things.get(keyOf(thing))!.row)), rest);
        }));
    }

    function count(place: HTMLDetailsElement): void {
        const own = form!.things.filter(({ circuit }) => circuit === place.dataset.circuit);
        const told = own.filter(isTold).length;
        const failed = own.filter((thing) => failuresOf(thing).length > 0).length;
        place.querySelector("summary .basis")!.textContent = `${told} of ${own.length}${failed > 0 ? `, ${failed} failed` : ""}`;
        place.querySelector<HTMLButtonElement>(".rest")!.disabled = told === own.length;
    }

    async function soundRest(circuit: string): Promise<void> {
        const problems = await take(() => desk.read<Inspected>("inspection/rest", { digest: form!.digest, circuit }));
        if (problems.length > 0) return;
        circuits.querySelector<HTMLDetailsElement>(`[data-circuit="${CSS.escape(circuit)}"]`)!.open = false;
        openFirstUntold();
    }

    /** Open the circuit that is next, and let the keyboard go on from it. */
    function openFirstUntold(): void {
        const untold = form!.things.find((thing) => !isTold(thing));
        if (untold === undefined) return;
        const place = circuits.querySelector<HTMLDetailsElement>(`[data-circuit="${CSS.escape(untold.circuit)}"]`)!;
        place.open = true;
        place.querySelector("summary")!.focus();
    }

    async function beginAnew(): Promise<void> {
        if (!isSure) return sure(true);
        await take(() => desk.read<Inspected>("inspection/anew", { digest: form!.digest }));
        openFirstUntold();
    }

    function sure(is: boolean): void {
        isSure = is;
        anew.textContent = is ? "Keep this one under another name, and begin anew?" : "Begin a new form";
    }

    /** The program's own map of the damage, as far as it is told. */
    async function draw(now: Inspected): Promise<void> {
        map.hidden = now.failed === 0;
        if (now.failed === 0) return;
        const picture = await desk.made("inspection/map");
        if (form !== now) return; // something more was told meanwhile
        const address = URL.createObjectURL(picture);
        URL.revokeObjectURL(mapAddress);
        mapAddress = address;
        map.src = address;
        map.alt = `Map of what failed: ${now.things.flatMap((thing) => failuresOf(thing).map((each) => `${thing.circuit} ${thing.thing}: ${spokenEntry(each)}`)).join("; ")}`;
    }

    /** Cross out on the piece what failed, and ring what is being spoken of. */
    function mark(): void {
        if (!panel.open || form === null || (form.failed === 0 && chosen === null)) return view.suffer(null);
        const marks = new Uint8Array(scene().circuits.reduce((sum, { pixels }) => sum + pixels.length / 3, 0));
        for (const [first, length] of chosen?.pixels ?? []) marks.fill(MARK.chosen, first, first + length);
        for (const { entries } of form.things)
            for (const { hit } of entries) for (const [first, length] of hit) marks.fill(MARK.wrong, first, first + length);
        return view.suffer(marks);
    }

    /** Ask about the strip that was tapped, counted over all circuits. */
    function pointAt(index: number): void {
        for (const circuit of scene().circuits) {
            const nPixel = circuit.pixels.length / 3;
            if (index >= nPixel) {
                index -= nPixel;
                continue;
            }
            const run = circuit.runs.find((each) => index < each.first + each.count)!;
            const pixel = index - run.first;
            const thing = form!.things.find((each) => each.sort === "strip" && each.circuit === circuit.name
                && each.run === run.name && pixel >= each.first && pixel < each.first + each.count);
            if (thing === undefined) return;
            circuits.querySelector<HTMLDetailsElement>(`[data-circuit="${CSS.escape(circuit.name)}"]`)!.open = true;
            things.get(keyOf(thing))!.pointAt(pixel);
            return;
        }
    }

    /** The piece is in another state: its form is asked for anew where it is looked at. */
    function giveWay(): void {
        chosen = null;
        if (panel.open) void load();
    }

    /** Come here at once, as the program's own address says. */
    function comeHere(): void {
        panel.open = true;
        panel.scrollIntoView();
    }

    return { panel, giveWay, comeHere };
}

function textOf({ summary, found, allowed, do: remedy }: CellProblem): string {
    return `${summary}; found ${found}; allowed: ${allowed}; do: ${remedy}`;
}

function button(text: string, act: () => void): HTMLButtonElement {
    const made = element("button", { type: "button" }, text);
    made.addEventListener("click", act);
    return made;
}
