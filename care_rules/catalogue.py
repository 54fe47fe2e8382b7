"""Choices for people: every key of a table with its name and saying, in a sensible order."""

from __future__ import annotations

from dataclasses import replace

from care_rules import vocabulary as words
from care_rules.fibre_words import fibres_meant
from care_rules.parse import known
from care_rules.rows import Row, split
from care_rules.speech import each_language, gettext_noop
from care_rules.speech import gettext as _
from care_rules.tables import book
from care_rules.vocabulary import Entry

_FAMILIES = (
    "protein",
    "cellulosic_natural",
    "cellulosic_regenerated",
    "synthetic",
    "mineral",
    "filling",
    "skin",
    "trim",
)
_STAIN_CLASSES = (
    "protein",
    "tannin",
    "dye",
    "oil or grease",
    "combination",
    "oxidisable",
    "mineral",
)
_DAMAGE_GROUP = "damage"
#: What a table of how cloth behaves, or of what it is worked with, is about.
_ABOUT = {
    "baths": gettext_noop("wash bath"),
    "drying": gettext_noop("drying"),
    "pressing": gettext_noop("pressing"),
    "shrinkage": gettext_noop("shrinkage"),
    "finishes": gettext_noop("finish"),
    "solvents": gettext_noop("solvent"),
    "fastness": gettext_noop("colour test"),
}


def _entry(row: Row, group: str, name: str = "") -> Entry:
    cells = row.cells
    return Entry(
        key=row.bare,
        group=group.replace("_", " "),
        name=name or cells.get("name") or _(row.bare),
        says=row.says,
        source=cells["source"],
        status=row.provenance.status,
        geometry=cells.get("geometry", ""),
        grams=int(cells.get("grams") or 0),
        minutes=int(cells.get("minutes") or 0),
        order=cells.get("order", ""),
    )


@each_language
def symbols() -> tuple[Entry, ...]:
    """Care symbols in label order; ``group`` is the symbol group as the contract spells it."""
    rows = sorted(
        book()["symbols"].values(), key=lambda row: words.GROUPS.index(row.cells["group"])
    )
    return tuple(
        Entry(
            row.bare,
            row.cells["group"],
            row.cells["name"],
            row.says,
            row.cells["source"],
            row.provenance.status,
            row.cells["geometry"],
        )
        for row in rows
    )


@each_language
def terms() -> tuple[Entry, ...]:
    """Written label terms, as the whole cell; grouped as on the label."""
    return tuple(_entry(row, row.cells["group"]) for row in book()["terms"].values())


@each_language
def fibres() -> tuple[Entry, ...]:
    """Fibres by family, then by name; ``also`` has the words of labels that mean one alone."""
    rows = sorted(
        book()["fibres"].values(),
        key=lambda row: (_FAMILIES.index(row.cells["family"]), row.cells["name"]),
    )
    words_of: dict[str, list[str]] = {}
    for word in book().meanings:
        meant = fibres_meant(word, book())
        if len(meant) == 1:
            words_of.setdefault(meant[0], []).append(word)
    return tuple(
        replace(_entry(row, row.cells["family"]), also=tuple(words_of.get(row.bare, ())))
        for row in rows
    )


@each_language
def kinds() -> tuple[Entry, ...]:
    """Kinds of piece with their usual dry weight in ``grams`` and what may be asked of them."""
    return tuple(
        replace(
            _entry(row, row.cells["group"]),
            has=row.listed("has"),
            parts=row.listed("parts"),
            fibres=row.listed("fibres"),
            also=tuple(split(row.cells["also"], "|")),
        )
        for row in book()["kinds"].values()
    )


@each_language
def trims() -> tuple[Entry, ...]:
    """Everything that the field ``trims`` takes: prints, trims, constructions, test results."""
    tables = book()
    rows = [*tables["trims"].values(), *tables["colours"].values()]
    allowed = known("trims")
    return tuple(_entry(row, row.cells["kind"]) for row in rows if row.bare in allowed)


@each_language
def colours() -> tuple[Entry, ...]:
    """The plain colours of the field ``colour``."""
    return tuple(_entry(book()["colours"][key], "colour") for key in words.COLOURS)


@each_language
def constructions() -> tuple[Entry, ...]:
    return tuple(_entry(row, "construction") for row in book()["constructions"].values())


def stain_danger(key: str) -> int:
    """What it costs to do to a stain what is never done to it: 0 a person may be hurt, 1 two agents
    may make a gas, 2 heat sets it for good, 3 the cloth suffers. An unknown stain: 0."""
    tables = book()
    row = tables["stains"].get(key)
    grave = ("hold", "refuse")
    if row is None or any(tables["hazards"][key].cells["level"] in grave for key in row.hazards):
        return 0
    parted = {agent for pair in tables.mixtures for agent in pair}
    if parted.intersection(row.listed("never")):
        return 1
    return 2 if row.flag("heat_sets") else 3


@each_language
def stains() -> tuple[Entry, ...]:
    """Stains by class, then by name."""
    rows = sorted(
        book()["stains"].values(),
        key=lambda row: (_STAIN_CLASSES.index(row.cells["class"]), row.bare.casefold()),
    )
    return tuple(_entry(row, row.cells["class"]) for row in rows)


@each_language
def damages() -> tuple[Entry, ...]:
    return tuple(_entry(row, _DAMAGE_GROUP) for row in book()["damage"].values())


@each_language
def hazards() -> tuple[Entry, ...]:
    """Hazards by topic; the name is what to look for."""
    return tuple(
        _entry(row, row.cells["topic"], row.cells["trigger"]) for row in book()["hazards"].values()
    )


@each_language
def behaviours() -> tuple[Entry, ...]:
    """How cloth behaves and what it is worked with; ``key`` is the whole key of the rule."""
    return tuple(
        replace(_entry(row, about), key=row.key)
        for name, about in _ABOUT.items()
        for row in book()[name].values()
    )


@each_language
def services() -> tuple[Entry, ...]:
    says = {
        "clean": _("Wash, wet clean or dry clean, whatever the rules allow."),
        "press": _("Iron or steam to finish."),
        "mend": _("Mend what is torn, open or lost."),
        "alter": _("Change the fit or the length."),
    }
    return tuple(
        Entry(key, "service", key, says[key], _("shop policy"), "practice")
        for key in words.SERVICES
    )


@each_language
def work() -> tuple[Entry, ...]:
    """Mending and alteration with usual ``minutes`` and ``order`` beside the cleaning."""
    return tuple(_entry(row, row.cells["group"]) for row in book()["work"].values())
