"""What is answered of a piece, each group of the editor in one line of the words of its choices."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from django.utils.text import capfirst

from care_rules import JsonMapping, JsonObject
from counter.intake.choice_lists import DAMAGE, FIBRES, KINDS, STAINS, WORK
from counter.intake.inspection import QUESTIONS
from counter.intake.judge import JudgedPiece
from counter.intake.wording import choice_labels
from tickets.wording import PART_NAMES, SERVICE_NAMES

_NAMES: Mapping[str, JsonMapping] = {
    "colour": choice_labels.COLOUR_NAMES,
    "construction": choice_labels.CONSTRUCTION_NAMES,
}
WHAT_IT_IS = ("kind", "services", "colour", "construction")
"""Groups of the first column, in order."""


def answers(look: JudgedPiece) -> dict[str, str]:
    """Group -> what is answered there; groups without an answer, or with a wrong one, are left
    out."""
    wrong = {fault.field for fault in look.wrong}
    wrong |= {"services"} if wrong & {"work", "prices"} else set()
    wrong |= {"pockets"} if "found" in wrong else set()
    wrong |= {"fastenings"} if "fault" in wrong else set()
    wrong |= {"label"} if wrong & {"symbols", "terms"} else set()
    still_open = {fault.field for fault in look.still_open}
    wrong |= {"services"} if still_open & {"work", "prices"} else set()
    return {name: words for name, words in _answers(look) if words and name not in wrong}


def group_looks(said: Mapping[str, str], open_at: str, *, marked: bool) -> dict[str, str]:
    """Group -> how it stands, in the words of the style sheet: answered, or asked now. Stains that
    are ``marked`` on the drawing are brief: they fold at any width."""
    brief = " brief" if marked else ""
    standing = {open_at: "asked"} | dict.fromkeys(said, "answered")
    return standing | {"stains": standing.get("stains", "") + brief}


def what_it_is(said: Mapping[str, str]) -> str:
    """The first column in one line; empty while something in it is not answered."""
    if not all(said.get(name) for name in WHAT_IT_IS):
        return ""
    return capfirst(_listed([said[name].lower() for name in WHAT_IT_IS]))


def _answers(look: JudgedPiece) -> Iterator[tuple[str, str]]:
    facts = look.piece.facts
    yield "kind", KINDS.name(facts["kind"]) if facts.get("kind") else ""
    asked = [str(SERVICE_NAMES.get(key, key)) for key in facts.get("services", ())]
    yield "services", _listed([*asked, *(WORK.name(key) for key in facts.get("work", ()))])
    for name, labels in _NAMES.items():
        yield name, str(labels.get(facts.get(name, ""), ""))
    yield "components", "; ".join(_part(part) for part in facts.get("components") or ())
    state = (facts.get("label") or {}).get("state", "")
    yield "label", str(choice_labels.LABEL_NAMES.get(state, ""))
    for question, choices in QUESTIONS.items():
        given = look.piece.inspection.get(question)
        words = dict(choices.choices).get(given or "", "")
        yield question, _with_list(question, str(words), look.piece.inspection, facts)


def _with_list(question: str, words: str, inspection: JsonMapping, facts: JsonMapping) -> str:
    """The answer of a look over the piece, with what was found in its place."""
    noted = {
        "pockets": [inspection.get("found", "")],
        "fastenings": [inspection.get("fault", "")],
        "stains": [STAINS.name(str(item["stain"])) for item in facts.get("stains", ())],
        "damage": [DAMAGE.name(key) for key in facts.get("damage", ())],
    }
    return _listed([str(name) for name in noted[question] if name]) or words


def _part(part: JsonObject) -> str:
    fibres = [
        " ".join(filter(None, (FIBRES.name(str(fibre.get("fibre", ""))), _percent(fibre))))
        for fibre in part["fibres"]
    ]
    words = _listed(fibres)
    return words if part["part"] == "shell" else f"{PART_NAMES.get(part['part'], '')}: {words}"


def _percent(fibre: JsonMapping) -> str:
    return f"{fibre['percent']} %" if fibre.get("percent") not in (None, "") else ""


def _listed(words: list[str]) -> str:
    return ", ".join(words)
