/** What the program tells the page; lengths in metres, z up, frames since power-on. */

import type { Standing } from "./file-side";

export interface Cue { look: string; title: string; start: number; length: number }

export interface CueProgram { look: string; start: number; length: number; fade: number }

export interface Stretch { name: string; first: number; count: number }

export interface Circuit {
    name: string;
    /** x y z of each pixel, one after the other */
    pixels: number[];
    /** line of each hanging section */
    spans: number[][];
    runs: Stretch[];
    sections: Stretch[];
    pitch: number;
    indicator: { pixels: number[]; code: [number, number, number] };
    limiter: { weights: [number, number, number]; cap: number };
    cues: CueProgram[];
}

export interface Scene {
    name: string;
    place: string;
    date: string;
    standby: string;
    frameMs: number;
    standbyFrames: number;
    passFrames: number;
    ending: "repeat" | "hold" | "dark";
    brightness: number;
    cues: Cue[];
    members: { name: string; points: number[] }[];
    circuits: Circuit[];
    /** text of an ES module, one function for each program */
    looks: string;
}

/** A circuit's curves; each point stands for `seconds` of the night. */
export interface Trace {
    name: string;
    seconds: number;
    /** highest current [A] */
    draw: number[];
    cap: number;
    limit: number;
    /** when the draw is highest, since power-on [s] */
    peakAt: number;
    /** lowest supply of any pixel [V] */
    volts: number[];
    leastVolts: number;
    lowestAt: number;
    /** share of the packs' energy */
    left: number[];
}

export interface Finding {
    code: string;
    severity: "pass" | "note" | "warn" | "fail";
    subject: string;
    summary: string;
    value: string;
    limit: string;
    margin: number | null;
    do: string;
    basis: string;
    /** when it is worst, since power-on [s] */
    moment: number | null;
}

/** What a preview carries within itself: the piece alone, and whether its light may flash too fast. */
export interface Given { scene: Scene; mayFlash: boolean }

export type Path = (string | number)[];

/** One key of the piece file: what stands there, or that it is left out. */
export interface Field {
    path: Path;
    table: string;
    key: string;
    /** null where it is left out */
    value: string | null;
    isText: boolean;
    comment: string;
    /** What a formula comes to; empty where the value is none. */
    gives: string;
    means: string;
    /** what is allowed, in words */
    takes: string;
    /** what holds without it; empty where it is needed */
    leftOut: string;
    /** the name of the list from which it is picked; empty where it is typed */
    picks: string;
    isColour: boolean;
    /** whether it can be taken out, so that its default holds again */
    mayGo: boolean;
}

/** One table of the piece file; its keys are the fields whose path begins with its own. */
export interface Table {
    path: Path;
    name: string;
    title: string;
    /** what tells it from its like */
    hint: string;
    /** tables within it that are left out and may be begun */
    begins: Field[];
    mayCopy: boolean;
    mayGo: boolean;
}

/** The piece file as a form. */
export interface Form {
    fields: Field[];
    tables: Table[];
    /** values and what is said beside each, by the name of the list */
    picks: Record<string, [string, string][]>;
}

/** One thing that can't be read as it is. */
export interface Problem {
    code: string;
    summary: string;
    found: string;
    allowed: string;
    do: string;
    line: number | null;
    column: number | null;
}

/** The piece as the program shows it now; findings and curves come once every frame is weighed. */
export interface Shown extends Standing {
    scene: Scene;
    mayFlash: boolean;
    /** whether findings and curves come from a sample of the frames; those of all frames follow */
    isEstimate: boolean;
    /** whether every frame has been screened for flashes, so that `mayFlash` holds for this state */
    isScreened: boolean;
    findings: Finding[] | null;
    traces: Trace[] | null;
}
