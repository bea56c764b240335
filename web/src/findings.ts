import { element } from "./element";
import type { Finding } from "./scene";
import { SEVERITY, spoken } from "./words";

const FOLDED = { note: (n: number) => (n === 1 ? "1 note" : `${n} notes`), pass: (n: number) => `${n} passed` };
const ORDER = ["fail", "warn", "note", "pass"] as const;

/**
 * The findings, worst first; notes and what passed are folded away.
 *
 * Null while nothing is known; an estimate says so and goes on showing how far the weighing of all frames is.
 */
export function findingsList(
    findings: readonly Finding[] | null,
    isEstimate: boolean,
    explain: (code: string) => Promise<string>,
    goTo: (seconds: number) => void,
): HTMLElement {
    const place = element("div", { class: isEstimate ? "findings estimate" : "findings" });
    if (findings === null || isEstimate) {
        const words = findings === null
            ? "Every frame of the night is being weighed "
            : "Estimate, by some moments of the night; every frame is being weighed, and screened for flashes ";
        const label = element("label", {}, words);
        label.append(element("progress", { max: "1", value: "0" }));
        place.append(label);
    }
    if (findings === null) return place;
    const counts = ORDER.map((severity) => [severity, findings.filter((each) => each.severity === severity).length] as const);
    const told = counts.filter(([, n]) => n > 0).map(([severity, n]) => `${n} ${severity === "pass" ? "passed" : plural(SEVERITY[severity], n)}`).join(", ");
    const isWell = !findings.some(({ severity }) => severity === "fail" || severity === "warn");
    place.append(element("p", { class: isEstimate ? "counts estimated" : "counts" }, isWell ? `nothing to mend: ${told}` : told));
    for (const severity of ORDER) {
        const own = findings.filter((each) => each.severity === severity);
        if (own.length === 0) continue;
        const rows = own.map((finding) => row(finding, explain, goTo));
        const isAsked = severity === "fail" || severity === "warn"; // something is to be done; the others are there to be read
        if (isAsked) place.append(...rows);
        else place.append(element("details", { "data-fold": severity }, element("summary", {}, FOLDED[severity](own.length)), ...rows));
    }
    return place;
}

function row(finding: Finding, explain: (code: string) => Promise<string>, goTo: (seconds: number) => void): HTMLElement {
    const code = element("button", { type: "button", class: "code", "aria-label": `what ${finding.code} checks` }, finding.code);
    const page = element("pre", { class: "page", tabindex: "0" });
    page.hidden = true;
    code.addEventListener("click", async () => {
        if (page.textContent === "") page.textContent = await explain(finding.code);
        page.hidden = !page.hidden;
        code.setAttribute("aria-expanded", String(!page.hidden));
    });
    page.addEventListener("keydown", (event) => { if (event.key === "Escape") { page.hidden = true; code.focus(); } });
    const limit = finding.limit === "" ? "" : ` (${finding.limit})`;
    const made = element("article", { class: `finding ${finding.severity}` },
        element("h3", {}, code, ` ${finding.subject}`),
        element("p", {}, `${finding.summary}: ${finding.value}${limit}`));
    if (finding.moment !== null) made.append(momentButton(finding, finding.moment, goTo));
    if (finding.do !== "") made.append(element("p", { class: "do" }, finding.do));
    made.append(element("p", { class: "basis" }, finding.basis), page);
    return made;
}

/** Puts the time bar where a finding is worst. */
function momentButton(finding: Finding, moment: number, goTo: (seconds: number) => void): HTMLElement {
    const name = `go to the worst moment of ${finding.code}, ${finding.subject}`;
    const made = element("button", { type: "button", class: "code moment", "aria-label": name }, `at ${spoken(moment)} after power-on`);
    made.addEventListener("click", () => goTo(moment));
    return made;
}

function plural(word: string, n: number): string {
    return n === 1 || word === "failed" ? word : `${word}s`;
}
