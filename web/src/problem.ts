import { element } from "./element";
import type { Problem } from "./scene";

/** Say what is wrong, where, and what to do. */
export function problemText(problem: Problem): HTMLElement {
    const where = problem.line === null ? "" : `line ${problem.line}: `;
    return element("p", {}, `${where}${problem.summary}; found ${problem.found}; allowed: ${problem.allowed}; do: ${problem.do}`);
}
