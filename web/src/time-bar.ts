import type { Clock } from "./clock";
import type { Scene } from "./scene";
import { spoken } from "./words";

const SHADES = ["#53624f", "#4a5a6b", "#6b5a45", "#5c4f66", "#3f6462", "#6a4c4c"];

/** The night from power-on to the end of one pass: standby, then the cues, each look in its own shade. */
export function createTimeBar(canvas: HTMLCanvasElement, sceneNow: () => Scene, clock: Clock) {
    /** Lengths of time that follow from the scene. [s] */
    function times() {
        const scene = sceneNow();
        const frame = scene.frameMs / 1000;
        const standby = scene.standbyFrames * frame;
        return { scene, frame, standby, whole: standby + scene.passFrames * frame };
    }

    /** Time within the bar: a pass that repeats is shown at its place in the first one. */
    function within(seconds: number): number {
        const { scene, standby, whole } = times();
        if (seconds <= whole) return seconds;
        return scene.ending === "repeat" ? standby + ((seconds - standby) % (whole - standby)) : whole;
    }

    function draw(): void {
        const { scene, frame, standby, whole } = times();
        const names = [...new Set(scene.cues.map((cue) => cue.look))];
        const shadeOf = new Map(names.map((look, i) => [look, SHADES[i % SHADES.length]!]));
        const ratio = window.devicePixelRatio;
        const [width, height] = [canvas.clientWidth, canvas.clientHeight];
        if (canvas.width !== Math.round(width * ratio)) canvas.width = Math.round(width * ratio);
        if (canvas.height !== Math.round(height * ratio)) canvas.height = Math.round(height * ratio);
        const paper = canvas.getContext("2d")!;
        paper.setTransform(ratio, 0, 0, ratio, 0, 0);
        paper.clearRect(0, 0, width, height);
        const x = (seconds: number) => (seconds / whole) * width;
        paper.font = "12px system-ui, sans-serif";
        paper.textBaseline = "middle";
        block(paper, 0, x(standby), height, "#3d3a33", "standby");
        for (const cue of scene.cues) {
            const start = standby + cue.start * frame;
            block(paper, x(start), x(cue.length * frame), height, shadeOf.get(cue.look)!, cue.look);
        }
        const now = x(within(clock.seconds));
        paper.fillStyle = "#ffd9a0";
        paper.fillRect(now - 1, 0, 2, height);
        canvas.setAttribute("aria-valuemax", String(Math.round(whole)));
        canvas.setAttribute("aria-valuenow", String(Math.round(within(clock.seconds))));
        canvas.setAttribute("aria-valuetext", describe());
    }

    function block(paper: CanvasRenderingContext2D, x: number, width: number, height: number, shade: string, label: string): void {
        paper.fillStyle = shade;
        paper.fillRect(x, 0, Math.max(0, width - 1), height);
        paper.fillStyle = "#f4efe6";
        const shown = fitting(paper, label, width - 10);
        if (shown !== "") paper.fillText(shown, x + 5, height / 2);
    }

    /** What is going on now, in words. */
    function describe(): string {
        const { seconds } = clock;
        const { scene, frame, standby } = times();
        if (seconds < standby) return `standby, ${spoken(Math.ceil(standby - seconds))} to the show`;
        const into = within(seconds) - standby;
        const cue = scene.cues.findLast((each) => each.start * frame <= into + 1e-9);
        return `show ${spoken(seconds - standby)}, ${cue?.title ?? ""}`;
    }

    const seekTo = (event: PointerEvent) => {
        const { left, width } = canvas.getBoundingClientRect();
        clock.seek(Math.min(1, Math.max(0, (event.clientX - left) / width)) * times().whole);
    };
    canvas.addEventListener("pointerdown", (event) => { canvas.setPointerCapture(event.pointerId); seekTo(event); });
    canvas.addEventListener("pointermove", (event) => { if (event.buttons !== 0) seekTo(event); });
    canvas.addEventListener("keydown", (event) => {
        const steps: Record<string, number> = { ArrowLeft: -1, ArrowRight: 1, PageDown: -60, PageUp: 60 };
        const step = steps[event.key];
        if (step !== undefined) clock.seek(clock.seconds + step);
        else if (event.key === "Home") clock.seek(0);
        else if (event.key === "End") clock.seek(times().whole - 1);
        else return;
        event.preventDefault();
    });
    return { draw, describe };
}

export type TimeBar = ReturnType<typeof createTimeBar>;

/** As much of a label as there is room for; nothing where that would tell nothing. */
function fitting(paper: CanvasRenderingContext2D, label: string, width: number): string {
    let shown = label;
    while (paper.measureText(shown).width > width && shown.length > 4) shown = `${shown.slice(0, -2)}…`;
    return paper.measureText(shown).width > width ? "" : shown;
}
