"""From JSON values to Facts: every fault is found, and each names its field, value and cure."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from functools import cache

from care_rules import vocabulary as words
from care_rules.errors import FactsError, Fault
from care_rules.fibre_words import fibres_meant, near_fibre_words, shares_typed
from care_rules.jsons import Json, JsonMapping, JsonObject
from care_rules.meanings import fold
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.tables import book
from care_rules.vocabulary import Component, Facts, FibreShare, Label, ShopAbilities

_PLAIN_COLOURS = ("white", "pastel", "bright", "dark", "mixed", "unknown")
_TOP = frozenset(Facts.__dataclass_fields__)
_LABEL = frozenset(Label.__dataclass_fields__)
_SHOP = frozenset(ShopAbilities.__dataclass_fields__)
_COMPONENT = frozenset(Component.__dataclass_fields__)
_SHARE = frozenset({"fibre", "percent"})
_STAIN = frozenset({"stain"})
#: Faults said of one object: who mends these sees the rest then.
_MOST_FAULTS = 20


@cache
def known(field: str) -> frozenset[str]:
    """The keys that a field may hold, from the tables or the contract's word lists."""
    if field == "trims":
        return frozenset(book()["trims"]) | (frozenset(book()["colours"]) - {*_PLAIN_COLOURS})
    lists: dict[str, Collection[str]] = {
        "kind": book()["kinds"],
        "construction": words.CONSTRUCTIONS,
        "colour": words.COLOURS,
        "part": words.PARTS,
        "fibre": book()["fibres"],
        "label.state": words.LABEL_STATES,
        "label.edition": words.EDITIONS,
        "label.market": words.MARKETS,
        "label.symbols": book()["symbols"],
        "label.terms": book().terms,
        "stain": book()["stains"],
        "damage": book()["damage"],
        "hazards": book()["hazards"],
        "services": words.SERVICES,
        "work": book()["work"],
        "wearer": words.WEARERS,
        "shop.dry_cleaning": words.SOLVENTS,
        "shop.send_out": words.SEND_OUT,
        "overrides": book().rules,
    }
    return frozenset(lists[field])


class _Enough(Exception):
    """So many faults were found that reading on would help nobody."""


class _Reader:
    """Reads one object and gathers faults instead of stopping at the first."""

    __slots__ = ("faults",)

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def fault(self, field: str, value: object, cure: str) -> None:
        self.faults.append(Fault(field, value, cure))
        if len(self.faults) == _MOST_FAULTS:
            cure = _("mend these first, then give it again")
            self.faults.append(Fault("(whole)", _("not read to its end"), cure))
            raise _Enough

    def mapping(self, at: str, value: object, keys: frozenset[str]) -> JsonMapping:
        if type(value) is not dict and not isinstance(value, Mapping):
            self.fault(at, value, _("give an object with named fields"))
            return {}
        if not value.keys() <= keys:
            for key in value:
                if key not in keys:
                    path = f"{at}.{key}" if at else str(key)
                    cure = _("no such field; use one of {keys}", keys=_list(keys))
                    self.fault(path, value[key], cure)
        return value

    def word(self, at: str, value: object, allowed: frozenset[str], other: str) -> str:
        if isinstance(value, str) and value in allowed:
            return value
        self.fault(at, value, _choose(value, allowed))
        return other

    def flag(self, at: str, value: object) -> bool:
        if value is True or value is False:
            return value
        self.fault(at, value, _("use true or false"))
        return False

    def items(self, at: str, value: object) -> list[Json]:
        if isinstance(value, list | tuple):
            return list(value)
        self.fault(at, value, _("give a list"))
        return []

    def words(self, at: str, value: object, allowed: frozenset[str]) -> tuple[str, ...]:
        if isinstance(value, list | tuple) and not value:
            return ()
        words: dict[str, None] = {}
        for number, item in enumerate(self.items(at, value)):
            if isinstance(item, str) and item in allowed:
                words[item] = None
            else:
                self.fault(f"{at}[{number}]", item, _choose(item, allowed))
        return tuple(words)

    def cautions(self, at: str, value: object) -> tuple[str, ...]:
        """Keys of cautions: rows of the tables, a caller's own behind such a key and a dot, or
        house rules, which only their shop knows."""
        cautions: dict[str, None] = {}
        rules = book().rules
        for number, item in enumerate(self.items(at, value)):
            if isinstance(item, str) and (
                item in rules or item.rpartition(".")[0] in rules or item.startswith("house.")
            ):
                cautions[item] = None
            else:
                self.fault(f"{at}[{number}]", item, _("use a caution key, such as trim.sequins"))
        return tuple(cautions)


def parse_facts(obj: JsonMapping) -> Facts:
    """Facts from a JSON object; raises FactsError with every fault that was found, or, of an
    object with very many, with the first ones."""
    read = _Reader()
    taken: JsonObject = {}
    with suppress(_Enough):
        given = read.mapping("(whole)" if not isinstance(obj, Mapping) else "", obj, _TOP)
        for field, value in given.items():
            take = _FIELDS.get(field)
            if take is not None:
                taken[field] = take(read, field, value)
    if read.faults:
        raise FactsError(read.faults)
    return Facts(**taken)


def _text(read: _Reader, at: str, value: object) -> str:
    if isinstance(value, str):
        return value
    read.fault(at, value, _("use text in quotation marks"))
    return ""


def _one(read: _Reader, at: str, value: object) -> str:
    return read.word(at, value, known(at), "")


def _kind(read: _Reader, at: str, value: object) -> str:
    """A kind by its key; by what people call it, the keys that are called so are the cure."""
    if isinstance(value, str) and value not in known("kind"):
        word, kinds = fold(value), book()["kinds"]
        called = [
            key for key, row in kinds.items() if word in (fold(row.cells["name"]), *_also(row))
        ]
        if called:
            read.fault(at, value, _did_you_mean(called))
            return ""
    return _one(read, at, value)


def _also(row: Row) -> list[str]:
    return [fold(word) for word in row.cells["also"].split("|")]


def _many(read: _Reader, at: str, value: object) -> tuple[str, ...]:
    return read.words(at, value, known(at))


def _services(read: _Reader, at: str, value: object) -> tuple[str, ...]:
    return read.words(at, value, known(at)) or ("clean",)


def _components(read: _Reader, at: str, value: object) -> tuple[Component, ...]:
    components = []
    for number, item in enumerate(read.items(at, value)):
        path = f"{at}[{number}]"
        given = read.mapping(path, item, _COMPONENT)
        part = "other"
        if "part" in given:
            part = read.word(f"{path}.part", given["part"], known("part"), "other")
        fibres: tuple[FibreShare, ...] = ()
        if "fibres" in given:
            fibres = _fibres(read, f"{path}.fibres", given["fibres"])
        components.append(Component(part, fibres))
    return tuple(components)


def _fibres(read: _Reader, at: str, value: object) -> tuple[FibreShare, ...]:
    shares = []
    allowed = known("fibre")
    for number, item in enumerate(read.items(at, value)):
        path = f"{at}[{number}]"
        given = read.mapping(path, item, _SHARE)
        if "fibre" not in given:
            if isinstance(item, Mapping):
                read.fault(f"{path}.fibre", None, _("name the fibre, or unknown"))
            continue
        percent = None
        if "percent" in given:
            percent = _percent(read, f"{path}.percent", given["percent"])
        typed = _typed_whole(given["fibre"], allowed)
        if typed and percent is None:
            shares += [
                FibreShare(fibre, _percent(read, f"{path}.fibre", share), written)
                for word, share in typed
                for fibre, written in [_fibre(read, f"{path}.fibre", word, allowed)]
            ]
        else:
            fibre, written = _fibre(read, f"{path}.fibre", given["fibre"], allowed)
            shares.append(FibreShare(fibre, percent, written))
    return tuple(shares)


def _typed_whole(value: object, allowed: frozenset[str]) -> tuple[tuple[str, float], ...]:
    """Words and shares of a list that was typed into the one field of a fibre."""
    if not isinstance(value, str) or value in allowed or fold(value) in book().meanings:
        return ()
    return shares_typed(value)


def _fibre(read: _Reader, at: str, value: object, allowed: frozenset[str]) -> tuple[str, str]:
    """A fibre by its key, or by a word or code as a label has it, and that word."""
    if isinstance(value, str) and value not in allowed:
        tables = book()
        if meant := fibres_meant(value, tables):
            return meant[0], " ".join(value.split())
        if fold(value) in tables.meanings:
            read.fault(at, value, _("this names a cloth, not a fibre; name what it is made of"))
            return "unknown", ""
        if near := near_fibre_words(value, tables):
            read.fault(at, value, _did_you_mean(near))
            return "unknown", ""
    return read.word(at, value, allowed, "unknown"), ""


def _percent(read: _Reader, at: str, value: object) -> float | None:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not 0 < value <= 100:  # type: ignore[operator]
        read.fault(at, value, _("use a number above 0 and at most 100, or leave it out"))
        return None
    return value  # type: ignore[return-value]


def _label(read: _Reader, at: str, value: object) -> Label:
    given = read.mapping(at, value, _LABEL)
    taken: JsonObject = {}
    for field in ("state", "edition", "market"):
        if field in given:
            taken[field] = _one(read, f"{at}.{field}", given[field])
    if "symbols" in given:
        taken["symbols"] = _many(read, f"{at}.symbols", given["symbols"])
    if "terms" in given:
        taken["terms"] = _terms(read, f"{at}.terms", given["terms"])
    if "state" not in given and (taken.get("symbols") or taken.get("terms")):
        taken["state"] = "read"
    return Label(**taken)


def _terms(read: _Reader, at: str, value: object) -> tuple[str, ...]:
    terms: dict[str, None] = {}
    aliases = known("label.terms")
    for number, item in enumerate(read.items(at, value)):
        folded = " ".join(item.casefold().split()) if isinstance(item, str) else ""
        if folded in aliases:
            terms[folded] = None
        else:
            read.fault(f"{at}[{number}]", item, _choose(folded or item, aliases))
    return tuple(terms)


def _stains(read: _Reader, at: str, value: object) -> tuple[str, ...]:
    stains: dict[str, None] = {}
    for number, item in enumerate(read.items(at, value)):
        path = f"{at}[{number}]"
        given = read.mapping(path, item, _STAIN)
        if "stain" in given:
            stains[read.word(f"{path}.stain", given["stain"], known("stain"), "unknown")] = None
        elif isinstance(item, Mapping):
            read.fault(f"{path}.stain", None, _("name the stain, or unknown"))
    return tuple(stains)


def _shop(read: _Reader, at: str, value: object) -> ShopAbilities:
    given = read.mapping(at, value, _SHOP)
    taken: JsonObject = {}
    if "wet_cleaning" in given:
        taken["wet_cleaning"] = read.flag(f"{at}.wet_cleaning", given["wet_cleaning"])
    for field in ("dry_cleaning", "send_out"):
        if field in given:
            taken[field] = _many(read, f"{at}.{field}", given[field])
    return ShopAbilities(**taken)


_FIELDS: dict[str, Callable[[_Reader, str, object], Json]] = {
    "id": _text,
    "kind": _kind,
    "construction": _one,
    "colour": _one,
    "colour_tested": _Reader.flag,
    "components": _components,
    "label": _label,
    "trims": _many,
    "stains": _stains,
    "damage": _many,
    "hazards": _many,
    "services": _services,
    "work": _many,
    "wearer": _one,
    "shop": _shop,
    "accepted": _Reader.cautions,
    "overrides": _many,
}


def _list(keys: Collection[str]) -> str:
    return ", ".join(sorted(keys))


def _did_you_mean(near: list[str]) -> str:
    return _("no such key; did you mean {keys}?", keys=_(" or ").join(near))


def _choose(value: object, allowed: Collection[str]) -> str:
    """The cure for a wrong word: the whole list if short, else the nearest words."""
    if len(allowed) <= 12:
        return _("use one of {keys}", keys=_list(allowed))
    near = difflib.get_close_matches(value, allowed, 3) if isinstance(value, str) else []
    if near:
        return _did_you_mean(near)
    return _("no such key; take one from the catalogue")
