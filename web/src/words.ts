/** Lengths of time as the maker says them. */
export function spoken(seconds: number): string {
    const whole = Math.floor(seconds + 1e-6);
    const hours = Math.floor(whole / 3600);
    const minutes = Math.floor((whole % 3600) / 60);
    const rest = String(whole % 60).padStart(2, "0");
    return hours > 0 ? `${hours}:${String(minutes).padStart(2, "0")}:${rest}` : `${minutes}:${rest}`;
}

export const SEVERITY = { fail: "failed", warn: "warning", note: "note", pass: "passed" } as const;
