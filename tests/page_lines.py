"""What stands on a page, as lines a person can read and compare: one for each part of it.

Words stand as they are seen; a link is followed by its address, a field shows its name and what it
holds, a drawing where its words and boxes lie, in whole units. Keys that a database or a form
counts on stand as ``N`` and ``KEY``, so that a page is told alike wherever it is made, and the
version of the care tables as ``N`` too: what it changes is seen by itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser

_LINE = frozenset({
    "address", "article", "aside", "button", "caption", "circle", "dd", "details", "dialog",
    "div", "dl", "dt", "fieldset", "figcaption", "figure", "footer", "form", "h1", "h2", "h3",
    "h4", "h5", "h6", "header", "input", "label", "legend", "li", "main", "nav", "ol", "option",
    "p", "pre", "rect", "section", "select", "summary", "svg", "table", "text", "textarea",
    "tr", "ul",
})  # fmt: skip
"""Elements that begin a line of the listing, and end one."""
_ROW_LINE = frozenset({"tr", "li"})
"""Those that do so within the row of a table."""
_CELLS = frozenset({"td", "th"})
_UNSEEN = frozenset({"script", "style", "template", "title", "desc", "datalist", "defs"})
_EMPTY = frozenset({"br", "hr", "img", "input", "link", "meta", "source", "wbr"})
_BOXES = {"rect": ("x", "y", "width", "height"), "circle": ("cx", "cy", "r")}
_UUID = re.compile(r"[0-9a-f]{8}(?:-?[0-9a-f]{4}){3}-?[0-9a-f]{12}")
_ONCE_KEYS = frozenset({"csrfmiddlewaretoken", "key", "once", "seen", "piece"})
_ROW_KEYS = frozenset({
    "id", "load", "machine", "only", "partner", "pickup", "pickup_id", "programme", "restore",
    "retire", "usual",
})  # fmt: skip
_PIECE_KEYS = frozenset({"like", "piece"})
"""Fields that name a piece of an intake by the key that it was given there."""
_LONG_LIST = 12
"""Of a list with more choices only the chosen one is told, and how many there are."""

Attributes = dict[str, str]


def page_lines(pages: Iterable[tuple[str, bytes]], within: str = "main") -> Iterator[str]:
    """Pages one after the other, each under its name: their element of this name."""
    for name, html in pages:
        yield f"== {_known_address(name)}"
        reader = _Reader(within)
        reader.feed(html.decode())
        yield from reader.lines


def _known_address(address: str) -> str:
    """Without keys: a ticket has seven digits and a piece ten, a key of a row has fewer."""
    return re.sub(r"(?<=/)\d{1,6}(?=/|$)", "N", _UUID.sub("KEY", address))


class _Reader(HTMLParser):
    """``lines`` are whole once the element that is read has ended."""

    def __init__(self, within: str) -> None:
        super().__init__()
        self.lines: list[str] = []
        self._within, self._inside, self._unseen, self._rows = within, 0, 0, 0
        self._words: list[str] = []
        self._links: list[str] = []
        self._choices: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self._inside += tag == self._within
        self._unseen += tag in _UNSEEN
        if not self._inside or self._unseen:
            return
        self._end_line_at(tag)
        self._rows += tag == "tr"
        if tag in _CELLS:
            self._words.append("|")
        self._words += _said_of(tag, given)
        if tag == "a":
            self._links.append(_known_address(given.get("href", "")))
        if tag == "select":
            self._choices = []

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _EMPTY:
            self.handle_endtag(tag)

    def handle_data(self, data: str) -> None:
        if self._inside and not self._unseen:
            self._words.append(data)

    def handle_endtag(self, tag: str) -> None:
        if self._inside and not self._unseen:
            if tag == "a" and self._links:
                self._words.append(f"<{self._links.pop()}>")
            self._end_line_at(tag)
            self._rows -= tag == "tr"
            if tag == "select":
                self._tell_choices()
        self._unseen -= tag in _UNSEEN
        self._inside -= tag == self._within

    def _end_line_at(self, tag: str) -> None:
        if tag not in (_ROW_LINE if self._rows and tag != "option" else _LINE):
            return
        words = " ".join(" ".join(self._words).split())
        self._words = []
        words = re.sub(r"\b(load) \d{1,6}\b", r"\1 N", words.removeprefix("| "), flags=re.I)
        words = re.sub(r"\btables \d{4}(\.\d+)+", "tables N", words)
        if tag == "option" and words:
            self._choices.append(words)
        elif words:
            self.lines.append(words)

    def _tell_choices(self) -> None:
        many = len(self._choices) > _LONG_LIST
        shown = [words for words in self._choices if words.startswith("(*)") or not many]
        self._words += [*shown, *([f"of {len(self._choices)}"] if many else [])]
        if not self._rows:
            self.lines.append(" ".join(self._words))
            self._words = []


def _said_of(tag: str, given: Attributes) -> list[str]:
    """What an element says before its own words."""
    name = given.get("name", "")
    if tag == "form":
        method = given.get("method", "get").lower()
        return [f"form {method} {_known_address(given.get('action', ''))}"]
    if tag == "input":
        return _field(name, given)
    if tag in ("select", "textarea"):
        return [f"[{name}]"]
    if tag == "option":
        return ["(*)" if "selected" in given else "( )"]
    if tag == "button":
        return [f"[{name}={_known_value(name, given.get('value', ''))}]" if name else "[]"]
    if tag == "text":
        return [_place(given, ("x", "y"))]
    if tag in _BOXES:
        return [f"{tag} {_place(given, _BOXES[tag])} {given.get('class', '')}"]
    if tag == "img":
        return [f"[picture {given.get('alt', '')}]"]
    return []


def _field(name: str, given: Attributes) -> list[str]:
    if name in _ONCE_KEYS:
        return []
    kind, value = given.get("type", "text"), _known_value(name, given.get("value", ""))
    if kind in ("checkbox", "radio"):
        return [f"[{'x' if 'checked' in given else ' '}] {name}={value}"]
    return [f"[{kind} {name}={value}]"]


def _known_value(name: str, value: str) -> str:
    """What a field holds; the key of a row is told as an address tells it."""
    if name in _ROW_KEYS and value.isdigit():
        return "N"
    if name in _PIECE_KEYS:
        return "KEY"
    return _known_address(value)


def _place(given: Attributes, names: Iterable[str]) -> str:
    """Figures of a drawing in whole units; what is no figure, as it is."""

    def whole(figure: str) -> str:
        try:
            return f"{float(figure):.0f}"
        except ValueError:
            return figure

    return " ".join(whole(given.get(name, "")) for name in names)
