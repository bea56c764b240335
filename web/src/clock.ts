/** Time since power-on as the page plays it. [s] */
export function createClock(start: number, isPlaying: boolean) {
    let seconds = start;
    let speed = 1;
    let playing = isPlaying;
    let last: number | undefined;
    const listeners: (() => void)[] = [];
    const tell = () => listeners.forEach((listener) => listener());

    return {
        get seconds() { return seconds; },
        get speed() { return speed; },
        get isPlaying() { return playing; },
        onChange(listener: () => void) { listeners.push(listener); },
        play(on: boolean) { playing = on; last = undefined; tell(); },
        setSpeed(value: number) { speed = value; tell(); },
        seek(to: number) { seconds = Math.max(0, to); tell(); },
        /** Go on by what has gone by on the wall since the last call. */
        advance(now: number) {
            if (playing && last !== undefined) seconds += Math.min(0.25, (now - last) / 1000) * speed;
            last = now;
        },
    };
}

export type Clock = ReturnType<typeof createClock>;
