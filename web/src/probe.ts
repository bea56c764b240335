import type { Desk } from "./desk";
import { element } from "./element";
import type { Shown } from "./scene";
import type { View } from "./view";

interface Probed { address: string; code: [number, number, number]; volts: number; told: string }

/** Tells of a pixel that is clicked on what the program knows of it at this moment: colour, volts, current. */
export function createProbe(desk: Desk, view: View, shown: () => Shown | null): void {
    let asked = 0;
    view.onPick.push(async (index, note) => {
        const mine = ++asked;
        const now = shown();
        if (now === null) return;
        const { scene, number } = now;
        let [circuit, pixel] = [0, index];
        while (pixel >= scene.circuits[circuit]!.pixels.length / 3) pixel -= scene.circuits[circuit++]!.pixels.length / 3;
        const answer = await desk.read<Probed>("probe", { number, circuit, pixel, frame: view.frameNow() });
        if (mine !== asked || Array.isArray(answer)) return;
        const [red, green, blue] = answer.code;
        note.replaceChildren(
            `${answer.address}; red ${red}, green ${green}, blue ${blue} of 255 `,
            element("span", { class: "volts" }, answer.told),
        );
    });
}
