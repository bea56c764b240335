import "./brief-page.css";
import { button } from "./button";
import { createCandidateSide, createWriteRow } from "./candidate-side";
import { createChangeForm } from "./change-form";
import type { Desk } from "./desk";
import { byId, element } from "./element";
import { createFileSide } from "./file-side";
import type { BriefShown, Candidate, Edit } from "./offers";
import { createOffersPicture } from "./offers-picture";
import { offersTable } from "./offers-table";
import type { Problem } from "./scene";

/** The page of a brief: its demands at one side, what could be built for them at the other. */
export function createBriefPage(desk: Desk<BriefShown>, key: string, first: BriefShown): void {
    let shown = first;
    let drawn = -1; // number of the answer that is drawn
    let chosen = 1;
    let marks: ((number: number) => void)[] = [];
    const isNarrow = window.matchMedia("(max-width: 52rem)").matches;
    document.body.classList.add("brief");

    const form = element("div", { id: "form" });
    const file = createFileSide(desk, "Write the brief", first, take);
    const fields = createChangeForm(form, file.change, isNarrow ? [] : [["brief"], ["brief", "survive"], ["wish"]]);
    const search = createSearchBar(() => file.act("stop"), () => file.act("search"));
    const found = element("div", { class: "found" });
    const side = createCandidateSide(desk.explain);
    const picture = createOffersPicture(fetchPicture, (number) => void choose(number));
    const writing = createWriteRow(write);
    const written = element("p", { class: "made" });
    const top = element("div", { class: "top" }, element("section", { "aria-label": "Picture of the candidates" }, picture.place), side.glow);
    const table = element("div");
    const choice = element("div", { class: "choice" }, element("h2", { id: "choice" }), writing.place, written);

    byId("bench").setAttribute("aria-label", "The brief");
    byId("bench").replaceChildren(file.place, element("section", { "aria-labelledby": "change" }, element("h2", { id: "change" }, "The brief"), form));
    const offers = element("section", { id: "offers", "aria-label": "What could be built" }, search.place, found, top, choice, table, side.told);
    document.querySelector("main")!.replaceChildren(byId("bench"), offers);

    async function take(next: BriefShown): Promise<void> {
        shown = next;
        await draw();
    }

    async function draw(): Promise<void> {
        document.title = `${shown.name} · lampwright`;
        byId("name").textContent = shown.name;
        byId("place").textContent = `${shown.place}, ${shown.date}`;
        fields.show(shown);
        file.show(shown);
        const { answer } = shown;
        search.show(shown, answer !== null);
        offers.classList.toggle("old", answer?.isOld === true);
        writing.offer(shown.fileName, answer?.isOld === false);
        written.replaceChildren(...shown.written.flatMap((name, index) => [link(name, index + 1), " "]));
        [top.hidden, choice.hidden] = [!answer?.count, !answer?.count];
        if (answer === null || answer.number === drawn) return;
        drawn = answer.number;
        found.replaceChildren(...unmet(answer), ...answer.covered.map((line) => element("p", { class: "basis" }, line)));
        if (answer.count === 0) {
            table.replaceChildren();
            return side.hide();
        }
        const made = offersTable(answer, (number) => void choose(number));
        table.replaceChildren(made.place, listed("What to do about the warnings", answer.advice.map((line) => [line])), listed("What more money buys", answer.steps.map((step) => [step.told, ...step.more])));
        marks = [made.mark, picture.mark];
        await Promise.all([picture.draw(answer), choose(1)]);
    }

    async function choose(number: number): Promise<void> {
        chosen = number;
        marks.forEach((mark) => mark(number));
        byId("choice").textContent = `Candidate ${number}`;
        const candidate = await desk.read<Candidate>(`candidate/${drawn}/${number}`);
        if (number !== chosen) return; // another was chosen meanwhile
        if (Array.isArray(candidate)) file.say(candidate);
        else await side.show(number, candidate);
    }

    async function fetchPicture(width: number): Promise<string> {
        const answer = await desk.read<{ svg: string }>(`picture/${drawn}/${Math.round(width)}`);
        return Array.isArray(answer) ? "<svg xmlns='http://www.w3.org/2000/svg'/>" : answer.svg;
    }

    /** Write the chosen candidate's piece file and go to its page; or return what is wrong. */
    async function write(name: string): Promise<string> {
        const answer = await desk.read<{ made: number }>("write", { answer: drawn, candidate: chosen, name });
        if (Array.isArray(answer)) return told(answer);
        window.location.assign(addressOf(answer.made));
        return "";
    }

    const addressOf = (number: number) => `made/${number}/?key=${encodeURIComponent(key)}`;
    const link = (name: string, number: number) => element("a", { href: addressOf(number) }, `written: ${name}`);

    /** What is in the way, with a button for each change of the brief that would do. */
    function unmet(answer: NonNullable<BriefShown["answer"]>): HTMLElement[] {
        if (answer.unmet === null) {
            return answer.count > 0 ? [] : [element("p", {}, "No design passed its sign-off: loosen a demand.")];
        }
        const { code, summary, value, limit } = answer.unmet;
        const ways = answer.ways.filter((way) => way.every((edit) => shown.fields.some((field) => isAt(field.path, edit))));
        const buttons = ways.map((way) => button(`Change ${way.map((edit) => `${edit.key.replaceAll("_", " ")} to ${edit.value}`).join(" and ")}`, () => change(way)));
        return [element("article", { class: "finding fail" },
            element("h3", {}, `${summary} (${code})`), element("p", {}, `${value} (${limit})`),
            element("p", {}, ways.length > 1 ? "Any one of these would do, the smallest change first:" : ways.length > 0 ? "This would do:" : answer.unmet.do),
            element("div", { class: "row" }, ...buttons))];
    }

    const change = (way: Edit[]) => file.act("change", { number: shown.number, changes: way.map(({ path, value }) => ({ path, value })) });

    void draw();
    new ResizeObserver(() => {
        if (shown.answer !== null && shown.answer.count > 0 && picture.isOutgrown()) void picture.draw(shown.answer);
    }).observe(picture.place);
    void desk.follow(async (news) => {
        if (news.revision !== shown.revision) return take(await desk.shown());
        search.tell(news);
        return undefined;
    });
}

const isAt = (path: readonly (string | number)[], edit: Edit) => JSON.stringify(path) === JSON.stringify(edit.path);

const told = (problems: readonly Problem[]) => problems.map((each) => `${each.summary}; found ${each.found}; do: ${each.do}`).join(" ");

/** Each item with what is said below it. */
function listed(title: string, items: readonly string[][]): HTMLElement {
    if (items.length === 0) return element("div");
    const rows = items.map(([first, ...below]) => element("li", {}, first!, ...below.map((line) => element("p", { class: "basis" }, line))));
    return element("section", { "aria-label": title }, element("h2", {}, title), element("ul", {}, ...rows));
}

/** How far the search is, a way to stop it, and a way to begin it again. */
function createSearchBar(stop: () => Promise<void>, again: () => Promise<void>) {
    const label = element("span");
    const bar = element("progress", { max: "1", value: "0", "aria-label": "The search" });
    const words = element("p", { role: "status" });
    const halt = button("Stop the search", stop);
    const go = button("Search", again);
    const place = element("div", { class: "search" }, words, element("div", { class: "running" }, label, bar), element("div", { class: "row" }, halt, go));

    function show(shown: BriefShown, isThere: boolean): void {
        const isOld = shown.answer?.isOld === true;
        const isRunning = shown.isSearching;
        [halt.hidden, bar.parentElement!.hidden, go.hidden] = [!isRunning, !isRunning, isRunning || (isThere && !isOld)];
        if (shown.problems.length > 0) words.textContent = told(shown.problems);
        else if (isRunning) words.textContent = isOld ? "The brief has changed: what stands below was found for it as it was." : "What could be built is being searched.";
        else if (isOld) words.textContent = "The search was stopped; what stands below was found for the brief as it was.";
        else words.textContent = isThere ? "" : "The search was stopped.";
        place.hidden = words.textContent === "" && go.hidden;
        tell(shown.progress);
    }

    function tell(news: { stage: string; share: number }): void {
        label.textContent = news.stage;
        bar.value = news.share;
    }
    return { place, show, tell };
}
