import "./style.css";
import { createBench } from "./bench";
import { createBriefPage } from "./brief-page";
import { createDesk } from "./desk";
import type { BriefShown } from "./offers";
import type { Given } from "./scene";
import { createView } from "./view";

const inside = document.getElementById("given")?.textContent;
const key = document.getElementById("key")?.textContent;
const isBrief = document.getElementById("key")?.dataset.about === "brief";
if (inside) {
    const { scene, mayFlash } = JSON.parse(inside) as Given;
    document.body.classList.add("preview");
    void createView(scene, mayFlash);
} else if (key && isBrief) {
    const desk = createDesk<BriefShown>(key);
    void desk.shown().then((shown) => createBriefPage(desk, key, shown));
} else if (key) {
    const desk = createDesk(key);
    void desk.shown().then(async (shown) => createBench(desk, await createView(shown.scene, false), shown));
}
