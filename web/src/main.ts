import "./style.css";
import { createBench } from "./bench";
import { createDesk } from "./desk";
import type { Given } from "./scene";
import { createView } from "./view";

const inside = document.getElementById("given")?.textContent;
const key = document.getElementById("key")?.textContent;
if (inside) {
    const { scene, mayFlash } = JSON.parse(inside) as Given;
    document.body.classList.add("preview");
    void createView(scene, mayFlash);
} else if (key) {
    const desk = createDesk(key);
    void desk.shown().then(async (shown) => createBench(desk, await createView(shown.scene, false), shown));
}
