// What of a page doesn't fit: evaluated in it, returns a line for each fault.
() => {
    const SMALLEST = 24; // WCAG 2.2, 2.5.8 [CSS px]
    const found = [];
    const isSeen = (each) => each.checkVisibility({ visibilityProperty: true }) && each.closest(".unseen") === null;
    const said = (each) => `${each.tagName.toLowerCase()} "${(each.getAttribute("aria-label") || each.textContent || each.id).trim().slice(0, 40)}"`;

    /** What is left of an element's box where the boxes around it cut it off. */
    function leftOf(each) {
        let { left, top, right, bottom } = each.getBoundingClientRect();
        for (let around = each.parentElement; around !== null && around !== document.body; around = around.parentElement) {
            const { overflowX, overflowY } = getComputedStyle(around);
            if (overflowX === "visible" && overflowY === "visible") continue;
            const box = around.getBoundingClientRect();
            [left, top] = [Math.max(left, box.left), Math.max(top, box.top)];
            [right, bottom] = [Math.min(right, box.right), Math.min(bottom, box.bottom)];
        }
        return { left, top, right, bottom };
    }

    const { scrollWidth } = document.documentElement;
    if (scrollWidth > innerWidth) found.push(`scrolls sideways: ${scrollWidth} of ${innerWidth}`);
    for (const each of document.querySelectorAll("header, section, aside, details, div, article, p, h1, h2, h3, pre, textarea, label, li")) {
        if (!isSeen(each)) continue;
        const { left, right, width } = each.getBoundingClientRect();
        if (width > 0 && (right > innerWidth + 0.5 || left < -0.5)) found.push(`wide: ${said(each)} from ${left} to ${right}`);
        if (each.matches("p, h1, h2, h3, label") && each.scrollWidth > each.clientWidth + 1) found.push(`cut off: ${said(each)}`);
    }

    const controls = [...document.querySelectorAll("button, input, select, textarea, summary, a[href], [role=slider]")].filter(isSeen);
    const boxes = controls.map((each) => [each, leftOf(each)]).filter(([, box]) => box.right - box.left > 1 && box.bottom - box.top > 1);
    for (const [each] of boxes) {
        const { width, height } = each.getBoundingClientRect();
        const isInText = each.tagName === "A"; // links within a line of text may be as high as it
        if (!isInText && (width < SMALLEST || height < SMALLEST)) found.push(`small: ${said(each)}, ${width} x ${height}`);
    }
    boxes.forEach(([one, a], index) => {
        for (const [other, b] of boxes.slice(index + 1)) {
            if (one.contains(other) || other.contains(one)) continue;
            // what scrolls goes under the bar of the file, which stays
            if ((one.closest("#file") === null) !== (other.closest("#file") === null)) continue;
            const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
            const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
            if (across > 0.5 && down > 0.5) found.push(`over each other: ${said(one)}, ${said(other)}`);
        }
    });
    return found;
}
