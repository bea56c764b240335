/** What is wrong with a pixel, as the program tells it; one that is chosen is only shown. */
export const MARK = { lit: 0, dark: 1, frozen: 2, wrong: 3, chosen: 4 } as const;

const STEP = 60; // one mark in the shader's byte

/**
 * What the picture shows while faults last: dark pixels are off, frozen ones keep the colour they had when the
 * fault came, and of wrong ones nobody knows what they show, so they have a mark in place of their light.
 */
export function createSuffering() {
    let marks: Uint8Array | null = null;
    let held: Uint8Array[] = [];
    let fresh: Uint8Array | undefined;

    /** Begin to suffer what `next` says of each pixel, counted over all circuits; null: nothing any more. */
    function take(next: Uint8Array | null, codes: readonly Uint8Array[]): void {
        held = shown(codes).map((part) => part.slice()); // what is frozen already stays as it is
        fresh = next?.map((mark) => mark * STEP) ?? (marks === null ? undefined : new Uint8Array(marks.length));
        marks = next;
    }

    /** Begin anew with another piece, which has nothing wrong. */
    function forget(): void {
        [marks, held, fresh] = [null, [], undefined];
    }

    /** Return the codes that the piece shows in place of these. */
    function shown(codes: readonly Uint8Array[]): readonly Uint8Array[] {
        if (marks === null) return codes;
        let pixel = 0;
        return codes.map((part, circuit) => {
            const changedPart = part.slice();
            for (let i = 0; i < part.length; i += 3) {
                const mark = marks![pixel++]!;
                if (mark === MARK.lit || mark === MARK.chosen) continue;
                const keep = mark === MARK.frozen ? held[circuit] : undefined;
                for (let channel = i; channel < i + 3; ++channel) changedPart[channel] = keep?.[channel] ?? 0;
            }
            return changedPart;
        });
    }

    /** Return the marks for the shader when they have changed since the last call. */
    function newMarks(): Uint8Array | undefined {
        const given = fresh;
        fresh = undefined;
        return given;
    }

    return { take, forget, shown, newMarks };
}
