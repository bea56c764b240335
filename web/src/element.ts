/** Make an element with its text, attributes and what happens on a click. */
export function element<Tag extends keyof HTMLElementTagNameMap>(
    tag: Tag,
    attributes: Record<string, string> = {},
    ...inside: (Node | string)[]
): HTMLElementTagNameMap[Tag] {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.append(...inside);
    return made;
}

/** Find what the page's own text has. */
export function byId<Kind extends HTMLElement>(id: string): Kind {
    const found = document.getElementById(id);
    if (found === null) throw new Error(`the page has no ${id}`);
    return found as Kind;
}
