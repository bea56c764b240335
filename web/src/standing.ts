import * as THREE from "three";

const EYE = 1.6; // eye height of a grown-up on foot, common practice, no source [m]
const ROOM = 1.08; // around the piece, for what lies over the picture at its edges

export const STANDS = ["in front", "on foot", "from above"] as const;
export type Stand = (typeof STANDS)[number];

/**
 * Put the camera where all of these points are seen, by one of a few ways to stand before them.
 *
 * @returns what it looks at
 */
export function stand(camera: THREE.PerspectiveCamera, points: THREE.Vector3[], where: Stand): THREE.Vector3 {
    const box = new THREE.Box3().setFromPoints(points);
    const middle = box.getCenter(new THREE.Vector3());
    const aside = camera.aspect < 1 ? 0.34 : 0.65; // a tall picture shows a row of members better from its end
    const toward = {
        "in front": new THREE.Vector3(aside, -1, 0.22),
        "on foot": new THREE.Vector3(0, -1, 0),
        "from above": new THREE.Vector3(0.02, 0, 1),
    }[where].normalize();
    if (where === "on foot") middle.z = EYE;
    const right = new THREE.Vector3().crossVectors(camera.up, toward).normalize();
    const up = new THREE.Vector3().crossVectors(toward, right);
    let away = distanceToSee(camera, points, middle, toward);
    for (let round = 0; round < 2; ++round) { // what is near looks larger: the middle of the box is not that of the picture
        const seen = new THREE.Box2().setFromPoints(points.map((point) => {
            const from = point.clone().sub(middle);
            const depth = Math.max(0.1, away - from.dot(toward));
            return new THREE.Vector2(from.dot(right) / depth, from.dot(up) / depth);
        }));
        const aim = seen.getCenter(new THREE.Vector2());
        middle.addScaledVector(right, aim.x * away);
        if (where !== "on foot") middle.addScaledVector(up, aim.y * away);
        away = distanceToSee(camera, points, middle, toward);
    }
    camera.position.copy(middle).addScaledVector(toward, Math.max(1.5, ROOM * away));
    return middle;
}

/** Return how far from `target`, in direction `toward`, every point lies within the picture. [m] */
function distanceToSee(camera: THREE.PerspectiveCamera, points: THREE.Vector3[], target: THREE.Vector3, toward: THREE.Vector3): number {
    const right = new THREE.Vector3().crossVectors(camera.up, toward).normalize();
    const up = new THREE.Vector3().crossVectors(toward, right);
    const high = Math.tan(THREE.MathUtils.degToRad(camera.fov / 2));
    const from = new THREE.Vector3();
    return points.reduce((most, point) => {
        from.subVectors(point, target);
        const across = Math.max(Math.abs(from.dot(right)) / (high * camera.aspect), Math.abs(from.dot(up)) / high);
        return Math.max(most, across + from.dot(toward));
    }, 0);
}
