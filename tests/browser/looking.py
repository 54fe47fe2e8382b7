"""What can be measured on a page: what runs over its edge, and what is too small to hit."""

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


def beyond_the_edge(page: Page) -> list[str]:
    """Elements that make the page scroll sideways; parts that scroll by themselves are no fault."""
    found: list[str] = page.evaluate(_OVER)
    return found


def too_small(page: Page, least: int = TOUCH) -> list[str]:
    """Visible targets under the least size, but for links in the flow of a text."""
    found: list[str] = page.evaluate(_SMALL, least)
    return found
