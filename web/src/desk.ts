import type { Problem, Shown } from "./scene";

/**
 * Talks to the program that serves this page; every request carries the key it was opened with.
 *
 * Addresses are relative: a piece that was made from a brief has its page below the brief's.
 */
export function createDesk<Known = Shown>(key: string) {
    const headers = { "x-lampwright-key": key, "content-type": "application/json" };

    async function shown(): Promise<Known> {
        const answer = await fetch("shown", { headers });
        return (await answer.json()) as Known;
    }

    /** Ask for something that changes the file's state: what is shown then, or what is wrong. */
    async function ask(what: string, given: unknown = {}): Promise<Known | Problem[]> {
        const answer = await fetch(what, { method: "POST", headers, body: JSON.stringify(given) });
        if (answer.status === 422) return ((await answer.json()) as { problems: Problem[] }).problems;
        if (!answer.ok) throw new Error(await answer.text());
        return (await answer.json()) as Known;
    }

    /** Ask for something that leaves it as it is: the answer, or what is wrong. */
    async function read<Answer>(what: string, given?: unknown): Promise<Answer | Problem[]> {
        const body = given === undefined ? {} : { method: "POST", body: JSON.stringify(given) };
        const answer = await fetch(what, { headers, ...body });
        if (answer.status === 422) return ((await answer.json()) as { problems: Problem[] }).problems;
        if (!answer.ok) throw new Error(await answer.text());
        return (await answer.json()) as Answer;
    }

    /** Hand a file over: the answer, or what is wrong. */
    async function send<Answer>(what: string, content: Blob): Promise<Answer | Problem[]> {
        const answer = await fetch(what, { method: "POST", headers: { ...headers, "content-type": "application/octet-stream" }, body: content });
        if (answer.status === 422) return ((await answer.json()) as { problems: Problem[] }).problems;
        if (!answer.ok) throw new Error(await answer.text());
        return (await answer.json()) as Answer;
    }

    async function file(what: string): Promise<Blob> {
        const answer = await fetch(what, { method: "POST", headers });
        if (!answer.ok) throw new Error(await answer.text());
        return answer.blob();
    }

    /** Fetch a file that was made. */
    async function made(what: string): Promise<Blob> {
        const answer = await fetch(what, { headers });
        if (!answer.ok) throw new Error(await answer.text());
        return answer.blob();
    }

    async function explain(code: string): Promise<string> {
        const answer = await fetch(`explain/${encodeURIComponent(code)}`, { headers });
        return answer.ok ? ((await answer.json()) as { text: string }).text : `nothing is known of ${code}`;
    }

    /** Hear of progress until the program ends. */
    async function follow(tell: (news: { revision: number; stage: string; share: number }) => void): Promise<void> {
        const answer = await fetch("news", { headers });
        const reader = answer.body!.pipeThrough(new TextDecoderStream()).getReader();
        let rest = "";
        for (;;) {
            const { done, value } = await reader.read();
            if (done) return;
            const lines = (rest + value).split("\n");
            rest = lines.pop()!;
            for (const line of lines) tell(JSON.parse(line));
        }
    }

    return { shown, ask, read, send, file, made, explain, follow };
}

export type Desk<Known = Shown> = ReturnType<typeof createDesk<Known>>;
