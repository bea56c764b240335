import type { Clock } from "./clock";
import { element } from "./element";
import type { Trace } from "./scene";

/** One row for each circuit: its draw against its cap, and what its pack has left, now and over the night. */
export function createTraces(place: HTMLElement, clock: Clock) {
    let rows: { trace: Trace; canvas: HTMLCanvasElement; now: HTMLElement; curve: HTMLCanvasElement | undefined }[] = [];

    function show(traces: Trace[]): void {
        rows = traces.map((trace) => {
            const canvas = element("canvas", { role: "img", "aria-label": `draw of ${trace.name} over the night` });
            canvas.addEventListener("pointerdown", (event) => {
                const { left, width } = canvas.getBoundingClientRect();
                clock.seek(((event.clientX - left) / width) * trace.draw.length * trace.seconds);
            });
            return { trace, canvas, now: element("span", { class: "now" }), curve: undefined };
        });
        place.replaceChildren(...rows.map(({ trace, canvas, now }) =>
            element("div", { class: "trace" }, element("span", { class: "who" }, trace.name), canvas, now)));
    }

    function draw(): void {
        for (const row of rows) {
            const { trace, canvas } = row;
            const [width, height] = [canvas.clientWidth, canvas.clientHeight];
            if (row.curve === undefined || canvas.width !== width || canvas.height !== height) {
                [canvas.width, canvas.height] = [width, height];
                row.curve = drawCurve(trace, width, height);
            }
            const paper = canvas.getContext("2d")!;
            paper.clearRect(0, 0, width, height);
            if (width > 0 && height > 0) paper.drawImage(row.curve, 0, 0);
            const index = Math.min(trace.draw.length - 1, Math.floor(clock.seconds / trace.seconds));
            paper.fillStyle = "#ffd9a0";
            paper.fillRect(((index + 0.5) / trace.draw.length) * width, 0, 1.5, height);
            row.now.textContent =
                `${trace.draw[index]!.toFixed(2)} of ${trace.cap.toFixed(2)} A · pack ${Math.max(0, 100 * trace.left[index]!).toFixed(0)} %`;
        }
    }
    return { show, draw };
}

function drawCurve(trace: Trace, width: number, height: number): HTMLCanvasElement {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [Math.max(1, width), Math.max(1, height)];
    const paper = canvas.getContext("2d")!;
    const most = 1.1 * Math.max(trace.cap, ...trace.draw);
    const y = (amperes: number) => height - (amperes / most) * height;
    paper.fillStyle = "#8fb7a3";
    trace.draw.forEach((amperes, i) => {
        const x = (i / trace.draw.length) * width;
        paper.fillRect(x, y(amperes), Math.max(1, width / trace.draw.length), height - y(amperes));
    });
    paper.strokeStyle = "#e5a45b";
    paper.setLineDash([4, 3]);
    paper.beginPath();
    paper.moveTo(0, y(trace.cap));
    paper.lineTo(width, y(trace.cap));
    paper.stroke();
    paper.setLineDash([]);
    paper.strokeStyle = "#cfd6dd";
    paper.beginPath();
    trace.left.forEach((share, i) => paper.lineTo((i / trace.left.length) * width, height - Math.max(0, share) * (height - 2) - 1));
    paper.stroke();
    return canvas;
}

export type Traces = ReturnType<typeof createTraces>;
