"""The facts of a piece, spelled as the conditions of the tables spell them."""

from __future__ import annotations

from care_rules.fibre_words import fibres_meant
from care_rules.tables import Book
from care_rules.vocabulary import Facts


def told(facts: Facts, tables: Book) -> set[str]:
    """Each fact as ``field:value``."""
    label = facts.label
    found = {
        f"kind:{facts.kind}",
        f"construction:{facts.construction}",
        f"colour:{facts.colour}",
        f"state:{label.state}",
        f"edition:{label.edition}",
        f"market:{label.market}",
        f"wearer:{facts.wearer}",
    }
    for key in label.symbols:
        found.add(f"symbol:{key}")
        found.add(f"group:{tables['symbols'][key].cells['group']}")
    for term in label.terms:
        for row in tables.terms[term]:
            found.add(f"term:{row.bare}")
            for key in row.listed("symbols"):
                found.add(f"group:{tables['symbols'][key].cells['group']}")
    for component in facts.components:
        found.add(f"part:{component.part}")
        if len({share.fibre for share in component.fibres}) > 1:
            found.add("blend:yes")
        for share in component.fibres:
            meant = fibres_meant(share.written, tables, label.market) if share.written else ()
            found.update(f"fibre:{key}" for key in meant or (share.fibre,))
    for name, keys in (
        ("trim", facts.trims),
        ("stain", facts.stains),
        ("damage", facts.damage),
        ("service", facts.services),
        ("work", facts.work),
        ("hazard", facts.hazards),
    ):
        for key in keys:
            found.add(f"{name}:{key}")
    if facts.work or "mend" in facts.services or "alter" in facts.services:
        found.add("sewing:yes")
    if any(tables["work"][key].flag("cuts") for key in facts.work):
        found.add("cuts:yes")
    return found
