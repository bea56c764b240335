import * as THREE from "three";
import type { OrbitControls } from "three/addons/controls/OrbitControls.js";

const STEP = Math.PI / 36;
const NEARER = 0.9;
const FLATTEST = Math.PI / 2 - 0.02;

const TURNS: Record<string, readonly [around: number, over: number, away: number]> = {
    ArrowLeft: [-STEP, 0, 1], ArrowRight: [STEP, 0, 1], ArrowUp: [0, -STEP, 1], ArrowDown: [0, STEP, 1],
    "+": [0, 0, NEARER], "=": [0, 0, NEARER], "-": [0, 0, 1 / NEARER],
};

/** Turn the view by the arrow keys, come nearer by plus and go farther by minus, while the picture has the focus. */
export function turnByKeys(canvas: HTMLCanvasElement, camera: THREE.Camera, controls: OrbitControls): void {
    canvas.addEventListener("keydown", (event) => {
        const turn = TURNS[event.key];
        if (turn === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
        event.preventDefault();
        const [around, over, away] = turn;
        const from = camera.position.clone().sub(controls.target);
        const round = Math.atan2(from.y, from.x) + around;
        const fall = THREE.MathUtils.clamp(Math.acos(from.z / from.length()) + over, 0.02, FLATTEST);
        const length = from.length() * away;
        camera.position.set(Math.sin(fall) * Math.cos(round), Math.sin(fall) * Math.sin(round), Math.cos(fall));
        camera.position.multiplyScalar(length).add(controls.target);
        controls.dispatchEvent({ type: "start" });
        controls.update();
    });
}
