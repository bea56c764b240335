import "./traces.css";
import type { Clock } from "./clock";
import { element } from "./element";
import type { Finding, Trace } from "./scene";

const WIND = "RIGGING-008"; // the gust before which the piece comes down
const DRAW_SHARE = 0.6; // of a row's height; the rest is for its volts

const LEGEND = [["draw", "draw"], ["limit", "cap, least volts"], ["left", "left in the packs"], ["volts", "lowest volts"]] as const;

interface Row { trace: Trace; canvas: HTMLCanvasElement; now: HTMLElement; curve: HTMLCanvasElement | undefined }

/**
 * One row for each circuit, now and over the night: its draw against its cap, what its packs have left (on a supply: nothing), its lowest
 * supply against what its pixels need. Below them the wind, which no moment of the show changes.
 */
export function createTraces(place: HTMLElement, clock: Clock) {
    let rows: Row[] = [];
    const legend = element("p", { class: "legend" }, ...LEGEND.map(([mark, word]) => element("span", {}, element("i", { class: mark }), word)));
    place.before(legend);

    function show(traces: Trace[], findings: readonly Finding[]): void {
        rows = traces.map((trace) => {
            const about = `Draw, pack and lowest supply of ${trace.name} over the night; a click goes to that moment`;
            const canvas = element("canvas", { role: "img", "aria-label": about });
            canvas.addEventListener("pointerdown", (event) => {
                const { left, width } = canvas.getBoundingClientRect();
                clock.seek(((event.clientX - left) / width) * trace.draw.length * trace.seconds);
            });
            return { trace, canvas, now: element("p", { class: "now" }), curve: undefined };
        });
        place.replaceChildren(...rows.map(({ trace, canvas, now }) =>
            element("div", { class: "trace" }, element("span", { class: "who" }, trace.name), canvas,
                element("div", {}, now,
                    worst("highest draw", trace.name, trace.peakAt), worst("lowest volts", trace.name, trace.lowestAt)))),
            ...wind(findings));
    }

    function worst(what: string, circuit: string, moment: number): HTMLElement {
        const made = element("button", { type: "button", class: "code", "aria-label": `go to the ${what} of ${circuit}` }, what);
        made.addEventListener("click", () => { clock.play(false); clock.seek(moment); });
        return made;
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
            const left = trace.left[index];
            const source = left === undefined ? "mains" : `pack ${Math.max(0, 100 * left).toFixed(0)} %`;
            const text = `${trace.draw[index]!.toFixed(2)} of ${trace.cap.toFixed(2)} A · ${trace.volts[index]!.toFixed(2)} V · ${source}`;
            if (row.now.textContent !== text) row.now.textContent = text;
        }
    }
    return { show, draw };
}

function wind(findings: readonly Finding[]): HTMLElement[] {
    const found = findings.find((finding) => finding.code === WIND);
    if (found === undefined) return [];
    const margin = found.margin === null ? "" : `, margin ${(100 * found.margin).toFixed(0)} %`;
    return [element("p", { class: "wind" }, `Wind: ${found.summary}; asked for ${found.limit}${margin}.`)];
}

function drawCurve(trace: Trace, width: number, height: number): HTMLCanvasElement {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [Math.max(1, width), Math.max(1, height)];
    const paper = canvas.getContext("2d")!;
    const floor = height * DRAW_SHARE;
    const most = 1.1 * Math.max(trace.cap, ...trace.draw);
    const y = (amperes: number) => floor - (amperes / most) * floor;
    paper.fillStyle = "#8fb7a3";
    trace.draw.forEach((amperes, i) => {
        const x = (i / trace.draw.length) * width;
        paper.fillRect(x, y(amperes), Math.max(1, width / trace.draw.length), floor - y(amperes));
    });
    dashed(paper, y(trace.cap), width);
    line(paper, "#cfd6dd", trace.left, width, (share) => floor - Math.max(0, share) * (floor - 2) - 1);

    // enough room below the limit to see by how much it is missed
    const low = Math.min(trace.leastVolts, ...trace.volts);
    const high = Math.max(trace.leastVolts, ...trace.volts);
    const reach = Math.max(0.1, high - low);
    const volts = (value: number) => height - 2 - ((value - low) / reach) * (height - floor - 6);
    dashed(paper, volts(trace.leastVolts), width);
    line(paper, "#a9c6e8", trace.volts, width, volts);
    return canvas;
}

function dashed(paper: CanvasRenderingContext2D, y: number, width: number): void {
    paper.strokeStyle = "#e5a45b";
    paper.setLineDash([4, 3]);
    paper.beginPath();
    paper.moveTo(0, y);
    paper.lineTo(width, y);
    paper.stroke();
    paper.setLineDash([]);
}

function line(paper: CanvasRenderingContext2D, colour: string, values: number[], width: number, y: (value: number) => number): void {
    paper.strokeStyle = colour;
    paper.beginPath();
    values.forEach((value, i) => paper.lineTo(((i + 0.5) / values.length) * width, y(value)));
    paper.stroke();
}

export type Traces = ReturnType<typeof createTraces>;
