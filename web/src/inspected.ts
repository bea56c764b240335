/** What is told of one thing, in the words of the form. */
export interface Told { failed: string; at: string; minute: string; photo: string; note: string }

/** First pixel and count, over all circuits. */
export type Reach = [number, number];

/** What is told of one thing, and the pixels that it hits. */
export interface Entry extends Told { hit: Reach[] }

/** One thing to look at. */
export interface Thing {
    /** Empty for members. */
    circuit: string;
    thing: string;
    sort: string;
    /** Of strip: its run, and its pixels within it. */
    run: string;
    first: number;
    count: number;
    /** How a place on it is told; empty where it has none. */
    where: string;
    isTimed: boolean;
    pixels: Reach[];
    entries: Entry[];
}

/** The form as its file has it. */
export interface Inspected {
    digest: string;
    file: string;
    things: Thing[];
    /** By sort, how such a thing fails. */
    ways: Record<string, string[]>;
    told: number;
    failed: number;
}

export const SOUND = "sound";
export const NOTHING: Told = { failed: "", at: "", minute: "", photo: "", note: "" };

export const keyOf = ({ circuit, thing }: { circuit: string; thing: string }) => JSON.stringify([circuit, thing]);
export const isTold = ({ entries }: Thing) => entries.some(({ failed }) => failed !== "");
export const failuresOf = ({ entries }: Thing) => entries.filter(({ failed }) => failed !== "" && failed !== SOUND);

/** The cells alone, as they are told. */
export const toldOf = ({ failed, at, minute, photo, note }: Told): Told => ({ failed, at, minute, photo, note });

/** Say how something failed, as the form has it. */
export function spokenEntry({ failed, at, minute, note }: Told): string {
    const place = at === "" ? "" : /^\d+$/.test(at) ? ` at pixel ${at}` : ` at ${at}`;
    return `${failed}${place}${minute === "" ? "" : `, minute ${minute}`}${note === "" ? "" : `: ${note}`}`;
}
