import type { Standing } from "./file-side";
import type { Finding, Problem, Scene } from "./scene";

/** An edit of the brief that would do, as its file would say it. */
export interface Edit { key: string; path: (string | number)[]; value: string }

/** Candidates side by side: the values of each row stand in their order. */
export interface Offers {
    currency: string;
    count: number;
    parts: { title: string; rows: { title: string; values: string[] }[] }[];
    /** what each step up in cost buys */
    steps: { told: string; more: string[] }[];
    /** what to do about each warning */
    advice: string[];
    covered: string[];
    unmet: Finding | null;
    ways: Edit[][];
}

/** The brief as the program shows it now, with what was found for it or for the state before. */
export interface BriefShown extends Standing {
    name: string;
    place: string;
    date: string;
    isSearching: boolean;
    problems: Problem[];
    answer: (Offers & { number: number; isOld: boolean }) | null;
    /** free for a piece file */
    fileName: string;
    written: string[];
}

/** One candidate to look at. */
export interface Candidate {
    scene: Scene;
    mayFlash: boolean;
    findings: Finding[];
    reasons: { decision: string; reason: string }[];
    text: string;
}
