import * as THREE from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import type { Scene } from "./scene";
import { stand, type Stand } from "./standing";
import { turnByKeys } from "./turning";

const SKY = {
    dusk: { sky: 0x28324a, ground: 0x3a403c, lamp: 1.1, member: 0x8a929e },
    night: { sky: 0x080b12, ground: 0x23262a, lamp: 0.35, member: 0x6a717c },
    "work light": { sky: 0xa9b2ba, ground: 0x7d837a, lamp: 3.4, member: 0x4c5258 },
} as const;

export type Light = keyof typeof SKY;
export const LIGHTS = Object.keys(SKY) as Light[];

const GROUND_REACH = 160; // as far as the haze lets anything be seen [m]

const VERTEX = `
attribute vec3 light;
attribute float fault;
varying vec3 vLight;
varying float vFault;
uniform float size;
uniform float height;
void main() {
    vLight = light;
    vFault = fault;
    vec4 seen = modelViewMatrix * vec4(position, 1.0);
    seen.xyz *= 1.0 - 0.03 / max(0.1, length(seen.xyz)); // the strip lies on the tube, not in it
    gl_Position = projectionMatrix * seen;
    float across = size * projectionMatrix[1][1] * height / max(0.05, -seen.z);
    gl_PointSize = clamp(across, 3.0, 64.0);
}`;

// A bright core of a fifth of the sprite, and a halo: what an eye makes of a small lamp in the dark.
const FRAGMENT = `
varying vec3 vLight;
varying float vFault;
uniform float exposure;
void main() {
    float far = length(gl_PointCoord - 0.5) * 2.0;
    if (far > 1.0) discard;
    float core = 1.0 - smoothstep(0.16, 0.34, far);
    float halo = pow(1.0 - far, 3.0) * 0.35;
    vec3 seen = (1.0 - exp(-vLight * exposure)) * (core + halo);
    vec2 at = gl_PointCoord - 0.5;
    float ring = 1.0 - smoothstep(0.08, 0.2, abs(far - 0.42));
    float crossed = (1.0 - smoothstep(0.04, 0.1, min(abs(at.x - at.y), abs(at.x + at.y)))) * step(far, 0.7);
    float wide = 1.0 - smoothstep(0.05, 0.14, abs(far - 0.8));
    // told apart by shape: a dark pixel is a dull ring, a frozen one a ring around its light, a wrong one a cross, a chosen
    // one a wide ring
    vec3 mark = vFault > 0.85 ? vec3(0.3, 0.22, 0.06) * wide
        : vFault > 0.6 ? vec3(0.35, 0.04, 0.22) * crossed
        : vFault > 0.4 ? vec3(0.03, 0.08, 0.17) * ring
        : vFault > 0.2 ? vec3(0.02, 0.006, 0.005) * ring : vec3(0.0);
    gl_FragColor = vec4(seen + vec3(0.025) * core + mark, 1.0);
    #include <colorspace_fragment>
}`;

/** A line of points as a curve, so that a tube can be drawn along it. */
class Bent extends THREE.Curve<THREE.Vector3> {
    constructor(private readonly points: THREE.Vector3[]) { super(); }
    override getPoint(share: number, target = new THREE.Vector3()): THREE.Vector3 {
        const place = share * (this.points.length - 1);
        const index = Math.min(this.points.length - 2, Math.floor(place));
        return target.lerpVectors(this.points[index]!, this.points[index + 1]!, place - index);
    }
    /** A ring at each point, however far apart they are: no bend is cut. */
    override getUtoTmapping(share: number): number { return share; }
}

function vectors(flat: number[]): THREE.Vector3[] {
    return Array.from({ length: flat.length / 3 }, (_, i) => new THREE.Vector3().fromArray(flat, 3 * i));
}

/** Draws the piece in three dimensions; pixels take their light from {@link take}. */
export function createStage(canvas: HTMLCanvasElement, given: Scene) {
    const renderer = new THREE.WebGLRenderer({ canvas, antialias: true, powerPreference: "low-power" });
    const world = new THREE.Scene();
    const camera = new THREE.PerspectiveCamera(45, 1, 0.05, 500);
    camera.up.set(0, 0, 1);
    const controls = new OrbitControls(camera, canvas);
    controls.maxPolarAngle = Math.PI / 2 - 0.02;
    controls.addEventListener("change", () => { isStale = true; });
    turnByKeys(canvas, camera, controls);
    const lamp = new THREE.HemisphereLight(0xc8d4e8, 0x30302c, 1);
    lamp.position.set(0, 0, 1);
    world.add(lamp);

    let content = new THREE.Group();
    let geometry = new THREE.BufferGeometry();
    let box = new THREE.Box3();
    let seen: THREE.Vector3[] = []; // what is to be in the picture
    let nPixel = 0;
    let isStale = true; // whether the picture shows what is no longer so
    let stood: Stand = "in front";
    let isTurned = false;
    controls.addEventListener("start", () => { isTurned = true; });
    const memberMaterial = new THREE.MeshStandardMaterial({ roughness: 0.7, metalness: 0.2 });
    const cordMaterial = new THREE.LineBasicMaterial({ color: 0x555a60 });
    const groundMaterial = new THREE.MeshStandardMaterial({ roughness: 1 });
    const personMaterial = new THREE.MeshStandardMaterial({ color: 0x8d929c, roughness: 1 });
    const pixelMaterial = new THREE.ShaderMaterial({
        vertexShader: VERTEX,
        fragmentShader: FRAGMENT,
        uniforms: { size: { value: 0.06 }, height: { value: 300 }, exposure: { value: 3 } },
        blending: THREE.AdditiveBlending,
        depthWrite: false,
        transparent: true,
    });

    function build(scene: Scene): void {
        content.traverse((each) => { if (each instanceof THREE.Mesh || each instanceof THREE.Line) each.geometry.dispose(); });
        world.remove(content);
        geometry.dispose();
        content = new THREE.Group();
        for (const member of scene.members) {
            const points = vectors(member.points);
            const tube = new THREE.TubeGeometry(new Bent(points), Math.max(1, points.length - 1), 0.014, 8);
            content.add(new THREE.Mesh(tube, memberMaterial));
        }
        for (const circuit of scene.circuits)
            for (const span of circuit.spans)
                content.add(new THREE.Line(new THREE.BufferGeometry().setFromPoints(vectors(span)), cordMaterial));
        const places = Float32Array.from(scene.circuits.flatMap((circuit) => circuit.pixels));
        nPixel = places.length / 3;
        geometry = new THREE.BufferGeometry();
        geometry.setAttribute("position", new THREE.BufferAttribute(places, 3));
        geometry.setAttribute("light", new THREE.BufferAttribute(new Uint8Array(places.length), 3, true));
        geometry.setAttribute("fault", new THREE.BufferAttribute(new Uint8Array(nPixel), 1, true));
        content.add(new THREE.Points(geometry, pixelMaterial));
        box = new THREE.Box3().setFromArray(places);
        seen = [...scene.members.flatMap((member) => vectors(member.points)), ...scene.circuits.flatMap((circuit) => vectors(circuit.pixels))];
        for (const point of seen) box.expandByPoint(point);
        const beside = person();
        const { x, y, z } = beside.position;
        for (const side of [-0.4, 0.4]) seen.push(new THREE.Vector3(x + side, y, z), new THREE.Vector3(x + side, y, z + 1.75));
        content.add(ground(), beside);
        world.add(content);
    }

    function ground(): THREE.Mesh {
        const reach = GROUND_REACH + box.getSize(new THREE.Vector3()).length();
        const disc = new THREE.Mesh(new THREE.CircleGeometry(reach, 96), groundMaterial);
        const middle = box.getCenter(new THREE.Vector3());
        disc.position.set(middle.x, middle.y, Math.min(0, box.min.z) - 0.005);
        return disc;
    }

    // A person of 1.75 m, for scale; beside the piece, never in it.
    function person(): THREE.Group {
        const whole = new THREE.Group();
        const limb = (radius: number, length: number, x: number, z: number, lean = 0) => {
            const made = new THREE.Mesh(new THREE.CapsuleGeometry(radius, length, 4, 12), personMaterial);
            made.rotation.set(Math.PI / 2, 0, lean);
            made.position.set(x, 0, z);
            whole.add(made);
        };
        for (const side of [-1, 1]) {
            limb(0.08, 0.72, 0.085 * side, 0.44);
            limb(0.048, 0.54, 0.215 * side, 1.1, 0.06 * side);
        }
        limb(0.165, 0.36, 0, 1.13);
        limb(0.05, 0.1, 0, 1.5);
        const head = new THREE.Mesh(new THREE.SphereGeometry(0.115, 16, 12), personMaterial);
        head.position.z = 1.635;
        whole.add(head);
        whole.position.set(box.max.x + 0.9, box.getCenter(new THREE.Vector3()).y, Math.min(0, box.min.z));
        return whole;
    }

    function setLight(light: Light): void {
        const { sky, ground: floor, lamp: strength, member } = SKY[light];
        world.background = new THREE.Color(sky);
        world.fog = new THREE.Fog(sky, 25, 160);
        groundMaterial.color.set(floor);
        memberMaterial.color.set(member);
        lamp.intensity = strength;
        isStale = true;
    }

    /** Look at the whole piece, and the person beside it, from one of a few places; until the view is turned it stays so. */
    function standAt(where: Stand): void {
        [stood, isTurned] = [where, false];
        controls.target.copy(stand(camera, seen, where));
        controls.update();
    }

    function resize(): void {
        const { clientWidth, clientHeight } = canvas.parentElement!;
        renderer.setPixelRatio(Math.min(2, window.devicePixelRatio));
        renderer.setSize(clientWidth, clientHeight, false);
        camera.aspect = clientWidth / Math.max(1, clientHeight);
        camera.updateProjectionMatrix();
        pixelMaterial.uniforms.height!.value = renderer.domElement.height / 2;
        isStale = true;
        if (!isTurned) standAt(stood);
    }

    /** Take the codes of all circuits, one after the other, for the next picture. */
    function take(parts: readonly Uint8Array[], faults?: Uint8Array): void {
        const light = geometry.getAttribute("light") as THREE.BufferAttribute;
        let offset = 0;
        for (const part of parts) {
            (light.array as Uint8Array).set(part, offset);
            offset += part.length;
        }
        light.needsUpdate = true;
        if (faults !== undefined) {
            const marks = geometry.getAttribute("fault") as THREE.BufferAttribute;
            (marks.array as Uint8Array).set(faults);
            marks.needsUpdate = true;
        }
        isStale = true;
    }

    /** Draw the picture, where anything about it has changed. */
    function draw(): void {
        if (isStale) renderer.render(world, camera);
        isStale = false;
    }

    /** Return the pixel nearest to a place on the canvas, counted over all circuits, or -1 where none is within reach. */
    function pick(x: number, y: number, within = 12): number {
        camera.updateMatrixWorld(); // it may have moved since the last picture
        const { width, height } = canvas.getBoundingClientRect();
        const positions = geometry.getAttribute("position");
        const place = new THREE.Vector3();
        let [best, nearest] = [-1, within ** 2];
        for (let i = 0; i < nPixel; ++i) {
            place.fromBufferAttribute(positions as THREE.BufferAttribute, i).project(camera);
            if (place.z > 1) continue;
            const far = (((place.x + 1) / 2) * width - x) ** 2 + (((1 - place.y) / 2) * height - y) ** 2;
            if (far < nearest) [best, nearest] = [i, far];
        }
        return best;
    }

    /** Return where a pixel is on the canvas, counted over all circuits. */
    function placeOf(index: number): [number, number] {
        camera.updateMatrixWorld();
        const { width, height } = canvas.getBoundingClientRect();
        const place = new THREE.Vector3().fromBufferAttribute(geometry.getAttribute("position") as THREE.BufferAttribute, index);
        place.project(camera);
        return [((place.x + 1) / 2) * width, ((1 - place.y) / 2) * height];
    }

    // the eye gets used to the piece as it was first shown: what is made brighter later looks brighter
    pixelMaterial.uniforms.exposure!.value = 1.3 / Math.max(0.05, given.brightness);
    build(given);
    setLight("dusk");
    resize();
    standAt("in front");
    new ResizeObserver(resize).observe(canvas.parentElement!);
    return { build, setLight, standAt, take, draw, pick, placeOf };
}

export type Stage = ReturnType<typeof createStage>;
