import "./style.css";
import { createClock } from "./clock";
import { byId, element } from "./element";
import { createPlayer, loadLooks } from "./frames";
import type { Given, Scene } from "./scene";
import { createStage, LIGHTS } from "./stage";
import { createTimeBar } from "./time-bar";

const SPEEDS = [1, 10, 60];

/** What a preview carries within itself; a page of a running program asks for it instead. */
function given(): Given | undefined {
    const text = document.getElementById("given")?.textContent;
    return text ? (JSON.parse(text) as Given) : undefined;
}

async function begin({ scene, mayFlash }: Given): Promise<void> {
    document.title = `${scene.name} · lampwright`;
    byId("name").textContent = scene.name;
    byId("place").textContent = `${scene.place}, ${scene.date}`;

    const looks = await loadLooks(scene.looks);
    const players = scene.circuits.map((circuit) => createPlayer(scene, circuit, looks));
    const stage = createStage(byId<HTMLCanvasElement>("canvas"), scene);
    const isCalm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    const clock = createClock((scene.standbyFrames * scene.frameMs) / 1000 + 20, !isCalm && !mayFlash);
    const bar = createTimeBar(byId<HTMLCanvasElement>("bar"), scene, clock);
    if (mayFlash) warnOfFlashes(clock.play);
    controls(clock);
    choices(byId("light"), LIGHTS, "dusk", (light) => stage.setLight(light));
    for (const where of ["in front", "on foot", "from above"] as const) {
        const button = element("button", { type: "button" }, where);
        button.addEventListener("click", () => stage.standAt(where));
        byId("stand").append(button);
    }
    showPixel(scene, players, stage.pick);

    let drawn = -1;
    let codes: Uint8Array[] = [];
    const draw = (now: number) => {
        clock.advance(now);
        const k = Math.floor((clock.seconds * 1000) / scene.frameMs + 1e-6);
        if (k !== drawn) codes = players.map((player) => player.draw(k));
        drawn = k;
        stage.paint(codes);
        bar.draw();
        const state = bar.describe();
        if (byId("state").textContent !== state) byId("state").textContent = state;
        window.requestAnimationFrame(draw);
    };
    window.requestAnimationFrame(draw);
    // for whoever wants to hold the page's frames against the program's
    Object.assign(window, { lampwright: { frame: (circuit: number, k: number) => Array.from(players[circuit]!.draw(k)), clock } });
}

function controls(clock: ReturnType<typeof createClock>): void {
    const play = element("button", { type: "button", id: "play" });
    play.addEventListener("click", () => clock.play(!clock.isPlaying));
    const speeds = element("div", { class: "choices", role: "radiogroup", "aria-label": "Speed" });
    choices(speeds, SPEEDS.map((speed) => `${speed}×`), "1×", (chosen) => clock.setSpeed(parseInt(chosen, 10)));
    const show = () => { play.textContent = clock.isPlaying ? "Pause" : "Play"; };
    clock.onChange(show);
    show();
    byId("controls").append(play, speeds);
    document.addEventListener("keydown", (event) => {
        if (event.key === " " && event.target === document.body) { clock.play(!clock.isPlaying); event.preventDefault(); }
    });
}

function choices<Choice extends string>(place: HTMLElement, all: readonly Choice[], first: Choice, choose: (choice: Choice) => void): void {
    const buttons = all.map((choice) => {
        const button = element("button", { type: "button", role: "radio", "aria-checked": String(choice === first) }, choice);
        button.addEventListener("click", () => {
            for (const other of buttons) other.setAttribute("aria-checked", String(other === button));
            choose(choice);
        });
        return button;
    });
    place.append(...buttons);
}

function warnOfFlashes(play: (on: boolean) => void): void {
    const button = element("button", { type: "button" }, "Show it all the same");
    const note = byId("asked");
    button.addEventListener("click", () => { note.hidden = true; play(true); });
    note.replaceChildren(element("p", {}, "This show may flash faster than is safe for some people to look at. It stands still until you ask."), button);
    note.hidden = false;
}

function showPixel(scene: Scene, players: { nPixel: number }[], pick: (x: number, y: number) => number): void {
    const canvas = byId<HTMLCanvasElement>("canvas");
    let [downX, downY] = [0, 0];
    canvas.addEventListener("pointerdown", (event) => { [downX, downY] = [event.clientX, event.clientY]; });
    canvas.addEventListener("pointerup", (event) => {
        if (Math.hypot(event.clientX - downX, event.clientY - downY) > 4) return; // the view was turned
        const { left, top } = canvas.getBoundingClientRect();
        let index = pick(event.clientX - left, event.clientY - top);
        const note = byId("pixel");
        note.hidden = index < 0;
        if (index < 0) return;
        const number = players.findIndex((player) => index < player.nPixel || ((index -= player.nPixel), false));
        const circuit = scene.circuits[number]!;
        const run = circuit.runs.find((each) => index < each.first + each.count)!;
        const section = circuit.sections.find((each) => index < each.first + each.count)!;
        const place = circuit.pixels.slice(3 * index, 3 * index + 3).map((metres) => metres.toFixed(2)).join(", ");
        note.textContent = `${circuit.name} · ${run.name}, pixel ${index - run.first} from its head · ${section.name} · at ${place} m`;
    });
}

const inside = given();
if (inside !== undefined) {
    document.body.classList.add("preview");
    void begin(inside);
}
