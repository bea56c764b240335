import type { Circuit, Scene } from "./scene";

/** A look as the compiler wrote it: calls `put` for every pixel at a cue's frame number. */
export type Look = (t: number, put: (i: number, red: number, green: number, blue: number) => void) => void;

export type Looks = Record<string, Look>;

/** Load the module of looks that the program wrote. */
export async function loadLooks(text: string): Promise<Looks> {
    const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
    try {
        return await import(/* @vite-ignore */ address);
    } finally {
        URL.revokeObjectURL(address);
    }
}

/**
 * Draws a circuit's frames: the same codes as the chip sends, bit for bit.
 *
 * The rules are those of the program's show; a frame is counted from power-on.
 */
export function createPlayer(scene: Scene, circuit: Circuit, looks: Looks) {
    const nPixel = circuit.pixels.length / 3;
    const codes = new Uint8Array(nPixel * 3);
    const before = new Uint8Array(nPixel * 3);

    const into = (target: Uint8Array) => (i: number, red: number, green: number, blue: number) => {
        target[3 * i] = red;
        target[3 * i + 1] = green;
        target[3 * i + 2] = blue;
    };
    const put = into(codes);
    const putBefore = into(before);
    const run = (name: string, t: number, to: typeof put) => {
        const look = looks[name];
        if (look === undefined) throw new Error(`no look ${name}`);
        look(t, to);
    };

    function standby(k: number): void {
        codes.fill(0);
        const left = Math.ceil(((scene.standbyFrames - k) * scene.frameMs) / 60_000);
        if ((k * scene.frameMs) % 1000 >= 500) return;
        for (const pixel of circuit.indicator.pixels.slice(0, left)) put(pixel, ...circuit.indicator.code);
    }

    function show(n: number): void {
        let passes = Math.floor(n / scene.passFrames);
        let within = n % scene.passFrames;
        if (passes > 0 && scene.ending === "dark") {
            codes.fill(0);
            return;
        }
        if (passes > 0 && scene.ending === "hold") [passes, within] = [0, scene.passFrames - 1];
        const number = circuit.cues.findLastIndex((cue) => cue.start <= within);
        const cue = circuit.cues[number]!;
        const time = within - cue.start;
        run(cue.look, time, put);
        if (time < cue.fade) fade(number, time, passes);
    }

    function fade(number: number, time: number, passes: number): void {
        const cue = circuit.cues[number]!;
        if (number === 0 && passes === 0) {
            before.fill(0);
        } else {
            const old = circuit.cues.at(number - 1)!;
            run(old.look, old.length + time, putBefore);
        }
        const weight = Math.floor((time * 256) / cue.fade);
        for (let i = 0; i < codes.length; ++i) codes[i] = before[i]! + (((codes[i]! - before[i]!) * weight) >> 8);
    }

    function limit(): number {
        const { weights, cap } = circuit.limiter;
        const sums = [0, 0, 0];
        for (let i = 0; i < codes.length; i += 3) {
            sums[0]! += codes[i]!;
            sums[1]! += codes[i + 1]!;
            sums[2]! += codes[i + 2]!;
        }
        const load = sums[0]! * weights[0] + sums[1]! * weights[1] + sums[2]! * weights[2];
        if (load <= cap) return 256;
        const scale = Math.floor(cap / (Math.floor(load / 256) + 1));
        for (let i = 0; i < codes.length; ++i) codes[i] = (codes[i]! * scale) >> 8;
        return scale;
    }

    /** Draw frame `k` and return its codes, red green blue of each pixel; the array is used again. */
    function draw(k: number): Uint8Array {
        if (k < scene.standbyFrames) standby(k);
        else show(k - scene.standbyFrames);
        limit();
        return codes;
    }

    return { nPixel, draw };
}

export type Player = ReturnType<typeof createPlayer>;
