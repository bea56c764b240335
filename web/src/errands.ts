import "./errands.css";
import type { Desk } from "./desk";
import { element } from "./element";
import type { Finding } from "./scene";
import { SEVERITY } from "./words";

interface Errand { state: "running" | "done" | "failed"; stage: string; share: number; text: string; findings: Finding[]; files: string[] }

const KINDS = [
    ["cuts", "What to cut"], ["shopping", "What to buy"], ["week", "The week"], ["wiring", "Wiring"],
    ["drawing", "Drawing"], ["papers", "Papers"], ["book", "The whole book"], ["rehearsal", "Rehearse"],
] as const;

const ASKED_EVERY = 500; // [ms]

/** What can be made of the piece, each by one button: made beside the page, then shown and handed over here. */
export function createErrands(desk: Desk, pieceName: () => string): HTMLElement {
    const place = element("div", { class: "errand", "aria-live": "polite" });
    const buttons = KINDS.map(([kind, title]) => {
        const made = element("button", { type: "button" }, title);
        made.addEventListener("click", () => void run(kind, title));
        return made;
    });
    const preview = element("button", { type: "button" }, "Preview to send");
    preview.addEventListener("click", () => void takePreview());
    let pictures: string[] = [];
    let latest = 0;

    async function run(kind: string, title: string): Promise<void> {
        const mine = ++latest;
        pictures.forEach((address) => URL.revokeObjectURL(address));
        pictures = [];
        const stage = element("label", {}, `${title} … `);
        const bar = element("progress", { max: "1" });
        stage.append(bar);
        place.replaceChildren(stage);
        try {
            let errand = await start(kind);
            while (errand.state === "running") {
                if (errand.stage !== "") {
                    stage.firstChild!.textContent = `${errand.stage} `;
                    bar.value = errand.share;
                }
                await new Promise((done) => window.setTimeout(done, ASKED_EVERY));
                if (mine !== latest) return; // it goes on by itself, and can be asked for again
                errand = (await desk.read<Errand>(`errand/${kind}`)) as Errand;
            }
            await show(kind, title, errand);
        } catch (error) {
            if (mine === latest) place.replaceChildren(element("p", {}, (error as Error).message));
        }
    }

    async function takePreview(): Promise<void> {
        ++latest;
        try {
            const address = URL.createObjectURL(await desk.file("preview"));
            const link = element("a", { href: address, download: `${pieceName()}.html` }, `${pieceName()}.html`);
            pictures.push(address);
            place.replaceChildren(element("h3", {}, "Preview to send"), element("p", {}, "One file that opens in any browser: ", link));
            link.click();
        } catch (error) {
            place.replaceChildren(element("p", {}, (error as Error).message));
        }
    }

    const start = async (kind: string) => (await desk.read<Errand>(`errand/${kind}`, {})) as Errand;

    async function show(kind: string, title: string, errand: Errand): Promise<void> {
        const parts: Node[] = [element("h3", {}, errand.state === "done" ? title : `${title}: nothing was made`)];
        for (const [number, name] of errand.files.entries()) {
            const file = await desk.made(`errand/${kind}/${number}`);
            const address = URL.createObjectURL(file);
            pictures.push(address);
            const link = element("a", { href: address, download: name.split("/").at(-1)! }, name);
            parts.push(element("p", {}, link));
            if (name.endsWith(".png")) parts.push(element("img", { src: address, alt: `${title}: ${name}` }));
        }
        for (const { code, severity, subject, summary, value } of errand.findings)
            parts.push(element("p", { class: `finding ${severity}` }, `${code} ${subject}, ${SEVERITY[severity]}: ${summary}: ${value}`));
        if (errand.text !== "") parts.push(element("pre", { class: "page", tabindex: "0", "aria-label": title }, errand.text));
        place.replaceChildren(...parts);
    }

    return element("details", { class: "drawer", id: "errands" },
        element("summary", {}, "Plans, papers, rehearsal"), element("div", { class: "row" }, ...buttons, preview), place);
}
