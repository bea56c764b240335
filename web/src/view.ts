import { choices } from "./choices";
import { createClock } from "./clock";
import { byId, element } from "./element";
import { createPlayer, loadLooks, type Player } from "./frames";
import type { Scene } from "./scene";
import { createStage, LIGHTS } from "./stage";
import { STANDS } from "./standing";
import { createSuffering } from "./suffering";
import { createTimeBar } from "./time-bar";

const SPEEDS = ["1×", "10×", "60×"] as const;
const JUST_BEGUN = 20; // seconds into the show at which the page opens

/** What a frame takes of the page's own time: its looks, their way to the picture, the picture, all beside it. [ms] */
export interface Spent { looks: number; copy: number; draw: number; beside: number }

/** The piece in three dimensions and its time bar; {@link show} puts another state of it there. */
export async function createView(first: Scene, mayFlash: boolean) {
    let scene = first;
    let players = await playersOf(scene);
    const stage = createStage(byId<HTMLCanvasElement>("canvas"), scene);
    const isCalm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    const clock = createClock((scene.standbyFrames * scene.frameMs) / 1000 + JUST_BEGUN, !isCalm && !mayFlash);
    const bar = createTimeBar(byId<HTMLCanvasElement>("bar"), () => scene, clock);
    const suffering = createSuffering();
    const eachFrame: (() => void)[] = [];
    let drawn = -1;
    let codes: Uint8Array[] = [];
    let spent: ((milliseconds: Spent) => void) | undefined;

    function draw(now: number): void {
        clock.advance(now);
        const k = Math.floor((clock.seconds * 1000) / scene.frameMs + 1e-6);
        const marks = suffering.newMarks();
        const isNew = k !== drawn || marks !== undefined;
        const began = performance.now();
        if (k !== drawn) codes = players.map((player) => player.draw(k));
        drawn = k;
        const computed = performance.now();
        if (isNew) stage.take(suffering.shown(codes), marks);
        const copied = performance.now();
        stage.draw();
        const submitted = performance.now();
        bar.draw();
        for (const each of eachFrame) each();
        const state = bar.describe();
        if (byId("state").textContent !== state) byId("state").textContent = state;
        spent?.({ looks: computed - began, copy: copied - computed, draw: submitted - copied, beside: performance.now() - submitted });
        window.requestAnimationFrame(draw);
    }

    async function show(next: Scene): Promise<void> {
        const ready = await playersOf(next);
        [scene, players, drawn] = [next, ready, -1];
        suffering.forget();
        stage.build(scene);
        title(scene);
    }

    /** Let the piece glow otherwise; everything else about it stays. */
    async function tryScene(next: Scene): Promise<void> {
        const ready = await playersOf(next);
        [scene, players, drawn] = [next, ready, -1];
    }

    title(scene);
    controls(clock);
    choices(byId("light"), LIGHTS, "dusk", (light) => stage.setLight(light));
    for (const where of STANDS) {
        const button = element("button", { type: "button" }, where);
        button.addEventListener("click", () => stage.standAt(where));
        byId("stand").append(button);
    }
    const onPick: ((index: number, note: HTMLElement) => void)[] = [];
    showPixel(() => scene, stage.pick, (index, note) => onPick.forEach((each) => each(index, note)));
    if (mayFlash) warnOfFlashes(clock.play);
    window.requestAnimationFrame(draw);
    // for whoever wants to hold the page's frames against the program's
    const frame = (circuit: number, k: number) => {
        drawn = -1;
        return Array.from(players[circuit]!.draw(k));
    };
    const shown = (circuit: number) => Array.from(suffering.shown(codes)[circuit]!);
    const healthy = (circuit: number) => Array.from(codes[circuit]!);
    const watch = (tell: typeof spent) => { spent = tell; };
    Object.assign(window, { lampwright: { frame, shown, codes: healthy, clock, place: stage.placeOf, watch } });
    const suffer = (marks: Uint8Array | null) => suffering.take(marks, codes);
    /** The frame that is shown, since power-on. */
    const frameNow = () => drawn;
    return { show, tryScene, suffer, clock, eachFrame, onPick, frameNow };
}

export type View = Awaited<ReturnType<typeof createView>>;

async function playersOf(scene: Scene): Promise<Player[]> {
    const looks = await loadLooks(scene.looks);
    return scene.circuits.map((circuit) => createPlayer(scene, circuit, looks));
}

function title(scene: Scene): void {
    document.title = `${scene.name} · lampwright`;
    byId("name").textContent = scene.name;
    byId("place").textContent = `${scene.place}, ${scene.date}`;
}

function controls(clock: ReturnType<typeof createClock>): void {
    const play = element("button", { type: "button", id: "play" });
    play.addEventListener("click", () => clock.play(!clock.isPlaying));
    const speeds = element("div", { class: "choices", role: "radiogroup", "aria-label": "Speed" });
    choices(speeds, SPEEDS, "1×", (chosen) => clock.setSpeed(parseInt(chosen, 10)));
    const show = () => { play.textContent = clock.isPlaying ? "Pause" : "Play"; };
    clock.onChange(show);
    show();
    byId("controls").prepend(play, speeds);
    document.addEventListener("keydown", (event) => {
        if (event.key !== " " || event.target !== document.body) return;
        clock.play(!clock.isPlaying);
        event.preventDefault();
    });
}

/** Let nothing move before it was asked for. */
export function warnOfFlashes(play: (on: boolean) => void): void {
    play(false);
    const button = element("button", { type: "button" }, "Show it all the same");
    const note = byId("asked");
    button.addEventListener("click", () => { note.hidden = true; play(true); });
    const words = "This show may flash faster than is safe for some people to look at. It stands still until you ask.";
    note.replaceChildren(element("p", {}, words), button);
    note.hidden = false;
}

function showPixel(
    scene: () => Scene,
    pick: (x: number, y: number, within?: number) => number,
    picked: (index: number, note: HTMLElement) => void,
): void {
    const canvas = byId<HTMLCanvasElement>("canvas");
    const note = byId("pixel");
    let [downX, downY] = [0, 0];

    function tell(x: number, y: number, within?: number): void {
        const index = pick(x, y, within);
        note.hidden = index < 0;
        if (index < 0) return;
        note.textContent = pixelText(scene(), index);
        picked(index, note);
    }
    canvas.addEventListener("pointerdown", (event) => { [downX, downY] = [event.clientX, event.clientY]; });
    canvas.addEventListener("pointerup", (event) => {
        if (Math.hypot(event.clientX - downX, event.clientY - downY) > 4) return; // the view was turned
        const { left, top } = canvas.getBoundingClientRect();
        tell(event.clientX - left, event.clientY - top);
    });
    canvas.addEventListener("keydown", (event) => {
        if (event.key === "Enter") tell(canvas.clientWidth / 2, canvas.clientHeight / 2, Infinity);
    });
    document.addEventListener("keydown", (event) => { if (event.key === "Escape") note.hidden = true; });
}

/** Say which pixel this is, counted over all circuits. */
function pixelText(scene: Scene, index: number): string {
    for (const circuit of scene.circuits) {
        const nPixel = circuit.pixels.length / 3;
        if (index >= nPixel) {
            index -= nPixel;
            continue;
        }
        const run = circuit.runs.find((each) => index < each.first + each.count)!;
        const section = circuit.sections.find((each) => index < each.first + each.count)!;
        const place = circuit.pixels.slice(3 * index, 3 * index + 3).map((metres) => metres.toFixed(2)).join(", ");
        return `${circuit.name} · ${run.name}, pixel ${index - run.first} from its head · ${section.name} · at ${place} m`;
    }
    return "";
}
