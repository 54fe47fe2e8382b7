"""Seeded shop days: what waits at the washers of a small shop, as the care engine decided it.

Garments are the demo shop's and variations on them; how often each comes, the weights and the due
times are made up (common practice, no source). Nothing here is measured in a real shop.
"""

from __future__ import annotations

import copy
import json
import random
from functools import cache
from pathlib import Path
from typing import Any

from care_rules import Decision, Facts, decide, parse_facts, read_facts
from tickets.loads.care import kind_grams, load_piece_from
from tickets.loads.items import WASH, LoadItem
from tickets.shop.machine_facts import SINK, MachineFacts, sink_programmes, usual_programmes

DEMO = Path(__file__).resolve().parents[3] / "fixtures" / "demo" / "garments.json"
NAMED_COLOURS = ("white", "pastel", "bright", "dark")


def _made(kind: str, colour: str, fibres: str, symbols: str, **more: Any) -> dict[str, Any]:
    shares = [part.split("=") for part in fibres.split()]
    return {
        "kind": kind,
        "construction": more.pop("construction", "woven"),
        "colour": colour,
        "components": [
            {"part": "shell", "fibres": [{"fibre": f, "percent": int(p)} for f, p in shares]}
        ],
        "label": {"state": "read", "symbols": symbols.split(), "terms": more.pop("terms", [])},
        "services": ["clean"],
        **more,
    }


_LINEN = "wash_60 bleach_oxygen_only tumble_normal iron_200 no_dry_clean"
_EASY = "wash_40_mild no_bleach tumble_low iron_150 no_dry_clean"
_COOL = "wash_30_mild no_bleach no_tumble iron_110 no_dry_clean"

#: How often, and the facts: what a counter sees beside the demo shop's garments.
_MORE: list[tuple[int, dict[str, Any]]] = [
    (8, _made("pillowcase", "white", "cotton=100", _LINEN)),
    (6, _made("towel_hand_50x100", "white", "cotton=100", _LINEN, trims=["terry_pile"])),
    (4, _made("towel_bath_70x140", "dark", "cotton=100", _EASY, trims=["terry_pile"])),
    (6, _made("napkin", "white", "cotton=100", _LINEN)),
    (5, _made("scrubs_set", "pastel", "polyester=65 cotton=35", _EASY)),
    (5, _made("polo_shirt", "bright", "cotton=100", _EASY, construction="knit")),
    (6, _made("tshirt", "dark", "cotton=100", _EASY, construction="knit")),
    (4, _made("hoodie", "dark", "cotton=80 polyester=20", _EASY, trims=["metal_zip"])),
    (3, _made("fleece_jacket", "dark", "polyester=100", _COOL, construction="knit")),
    (4, _made("blouse_light", "white", "polyester=100", _COOL, trims=["lace"])),
    (3, _made("sweater_wool", "pastel", "wool=100", "wash_30_very_mild no_bleach no_tumble")),
    (3, _made("duvet_single", "white", "polyester=100", _EASY, construction="filled")),
    (3, _made("pillow", "white", "polyester=100", _EASY, construction="filled")),
    (2, _made("coverall", "dark", "cotton=100", _LINEN, hazards=["fr.workwear"])),
    (2, _made("shirt_cotton", "white", "cotton=100", _LINEN, hazards=["body.blood"])),
    (2, _made("hivis_vest", "bright", "polyester=100", _COOL, hazards=["hivis.washcount"])),
    (3, _made("baby_bodysuit", "white", "cotton=100", _LINEN, hazards=["allergy.residue"])),
    (3, _made("child_shirt", "bright", "cotton=100", _EASY, trims=["grade_stain_4"])),
    (2, _made("dress_summer", "mixed", "cotton=100", _EASY)),
    (2, _made("skirt_light", "bright", "cotton=100", _EASY, trims=["grade_stain_3"])),
    (4, _made("socks_pair", "dark", "cotton=75 polyamide=25", _EASY, construction="knit")),
    (3, _made("underwear", "white", "cotton=95 elastane=5", _EASY, construction="knit")),
]


@cache
def wardrobe() -> tuple[tuple[int, Facts, Decision], ...]:
    """How often, facts and decision of each garment that is washed in the house."""
    treated = []
    garments = [(g["often"], g["facts"]) for g in json.loads(DEMO.read_text(encoding="utf-8"))]
    for often, facts in [*garments, *_MORE]:
        colours = {facts["colour"]}
        if facts["kind"] in ("shirt_polycotton", "trousers_chino", "sweater_wool", "tshirt"):
            colours |= set(NAMED_COLOURS)
        for colour in sorted(colours):
            garment = copy.deepcopy(facts) | {"colour": colour}
            decision = decide(parse_facts(garment))
            holds = [caution.key for caution in decision.cautions if caution.level == "hold"]
            garment["accepted"] = sorted(holds)
            decision = decide(parse_facts(garment))
            washed = decision.process in ("machine_wash", "hand_wash")
            if decision.outcome == "accept" and decision.where == "in_house" and washed:
                share = often if len(colours) == 1 else max(1, often // len(colours))
                treated.append((share, read_facts(garment), decision))
    return tuple(treated)


def shop_machines(number: int, rng: random.Random) -> list[MachineFacts]:
    """A shop that fits the number of pieces: two to four washers and a hand sink."""
    washers = 2 if number < 130 else 3 if number < 260 else 4
    machines = []
    for place in range(washers):
        rated_kg = rng.choice((8, 10, 13, 16) if number < 130 else (10, 13, 16, 20, 24))
        machines.append(
            MachineFacts(
                f"washer-{place + 1}",
                "washer",
                rated_kg * 10.0,
                usual_programmes(),
                free_from=rng.choice((0, 0, 0, 10, 25, 40)),
            )
        )
    machines.append(
        MachineFacts("sink", SINK, 40.0, sink_programmes(), turnaround=5, most_pieces=1)
    )
    return machines


def shop_day(seed: int, number: int) -> tuple[list[LoadItem], list[MachineFacts]]:
    """The pieces waiting and the machines of one day; the same for the same seed and number."""
    rng = random.Random(f"day {seed} {number}")
    garments = wardrobe()
    often = [row[0] for row in garments]
    pieces: list[LoadItem] = []
    ticket = 1_000_001
    while len(pieces) < number:
        due = _due(rng)
        for position in range(1, rng.choice((1, 1, 2, 2, 3, 4, 5, 8)) + 1):
            if len(pieces) == number:
                break
            _, facts, decision = rng.choices(garments, often)[0]
            grams = kind_grams(facts.kind)
            if rng.random() < 0.25:
                grams = max(20, round(grams * rng.uniform(0.8, 1.2) / 10) * 10)
            pieces.append(
                load_piece_from(decision, facts, grams, due, f"{ticket}{position:02d}", stage=WASH)
            )
        ticket += 1
    return pieces, shop_machines(number, rng)


def _due(rng: random.Random) -> int:
    """Machine minutes until the ticket must be out of the wash: rush, today, tomorrow, later."""
    low, high = rng.choices(((60, 180), (240, 540), (600, 1080), (1140, 1620)), (4, 26, 45, 25))[0]
    return rng.randrange(low, high + 1, 30)
