"""What can be measured on a page: what runs over its edge, what is too small to hit, and where it
leaves the rules of the look: outlined boxes, a second red, a button or heading too long to read."""

from __future__ import annotations

from playwright.sync_api import Page

TOUCH = 48
"""CSS pixels each way, the shop's own rule; WCAG 2.2 asks for 24 (2.5.8) and 44 (2.5.5)."""

_OVER = """() => {
    const edge = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= edge) return [];
    const scrolls = (one) => {
        for (let up = one.parentElement; up && up !== document.body; up = up.parentElement)
            if (getComputedStyle(up).overflowX !== "visible") return true;
        return false;
    };
    return [...document.body.querySelectorAll("*")]
        .filter((one) => one.getBoundingClientRect().right > edge + 0.5 && !scrolls(one))
        .map((one) => `${one.tagName.toLowerCase()}#${one.id}.${one.getAttribute("class") ?? ""} ` +
            `ends at ${Math.round(one.getBoundingClientRect().right)} of ${edge}`);
}"""

_SMALL = """(least) => {
    const words = (one) => (one.getAttribute("aria-label") || one.innerText || one.name || "")
        .replace(/\\s+/g, " ").trim().slice(0, 40);
    const inText = (one) => {
        if (getComputedStyle(one).display !== "inline") return false;
        let block = one.parentElement;
        while (getComputedStyle(block).display === "inline") block = block.parentElement;
        const links = [...block.querySelectorAll("a, button, summary")]
            .map((each) => each.textContent).join("");
        return block.textContent.replace(/\\s/g, "").length > links.replace(/\\s/g, "").length;
    };
    const found = [];
    for (const one of document.querySelectorAll(
            "a[href], button, input:not([type=hidden]), select, textarea, summary")) {
        if (!one.checkVisibility({visibilityProperty: true}) || one.disabled) continue;
        if (one.closest(".unseen, .skip")) continue;
        const ticks = one.matches("[type=radio], [type=checkbox]") && one.labels.length;
        const boxes = [one, ...(ticks ? one.labels : [])]
            .map((each) => each.getBoundingClientRect());
        const wide = Math.max(...boxes.map((box) => box.width));
        const high = Math.max(...boxes.map((box) => box.height));
        if (wide + 0.5 >= least && high + 0.5 >= least) continue;
        if (one.tagName === "A" && inText(one)) continue;
        found.push(`${one.tagName.toLowerCase()} “${words(one)}” ` +
            `${Math.round(wide)}×${Math.round(high)}`);
    }
    return found;
}"""


_OFF_THE_LOOK = """([most_reds, button_words, heading_words]) => {
    const seen = (one) => one.checkVisibility({visibilityProperty: true})
        && one.getBoundingClientRect().width > 1 && !one.closest(".unseen");
    const words = (one) => {
        const copy = one.cloneNode(true);
        copy.querySelectorAll(".unseen, .soft, svg").forEach((hidden) => hidden.remove());
        return copy.textContent.replace(/\\s+/g, " ").trim();
    };
    const count = (text) => text.split(" ").filter((word) => /\\p{L}/u.test(word)).length;
    const all = [...document.querySelectorAll("main *")].filter(seen);
    const red = document.createElement("i");
    red.style.background = "var(--red)";
    document.body.append(red);
    const fill = getComputedStyle(red).backgroundColor;
    red.remove();
    const sides = ["Top", "Right", "Bottom", "Left"];
    const boxed = all.filter((one) => !one.closest("svg, .wall") && sides.every((side) =>
        parseFloat(getComputedStyle(one)[`border${side}Width`]) > 0));
    const reds = all.filter((one) => getComputedStyle(one).backgroundColor === fill);
    const faults = boxed.map((one) =>
        `outlined: ${one.tagName.toLowerCase()}.${one.getAttribute("class") ?? ""}`);
    if (reds.length > most_reds)
        faults.push(`red ${reds.length} times: ${reds.map(words).join(", ")}`);
    for (const one of all.filter((one) => one.matches("button, .act, .plainact, .quiet")))
        if (count(words(one)) > button_words) faults.push(`long button: ${words(one)}`);
    for (const one of all.filter((one) => one.matches("h1, h2, h3")))
        if (count(words(one)) > heading_words) faults.push(`long heading: ${words(one)}`);
    return faults;
}"""


def beyond_the_edge(page: Page) -> list[str]:
    """Elements that make the page scroll sideways; parts that scroll by themselves are no fault."""
    faults: list[str] = page.evaluate(_OVER)
    return faults


def too_small(page: Page, least: int = TOUCH) -> list[str]:
    """Visible targets under the least size, but for links in the flow of a text."""
    faults: list[str] = page.evaluate(_SMALL, least)
    return faults


def off_the_look(page: Page) -> list[str]:
    """Where a page as it opens leaves the look: an outlined box, a second red fill, a button of
    more than four words, a heading of more than five. A drawing and the wall may be outlined;
    figures and soft second lines do not count."""
    faults: list[str] = page.evaluate(_OFF_THE_LOOK, [1, 4, 5])
    return faults


def over_when_mirrored(page: Page) -> list[str]:
    """How far a page scrolls sideways, in px, when its words run from right to left."""
    over: int = page.evaluate(
        """() => {
            const root = document.documentElement;
            root.dir = "rtl";
            return root.scrollWidth - root.clientWidth;
        }"""
    )
    return [f"mirrored, {over} px over the edge"] if over > 0 else []
