"""Limits in words: the one place that says what a piece must get, may get and must never get.

One limit is said in five voices, which agree since all of them start from ``words``:

- ``crew_lines``: orders to the crew, on boards, tags and cards: "Never tumble dry";
- ``treatment_lines``: a table of the seven treatments, at the counter: "Tumble: never";
- ``value_words``: one limit of one rule, in the care book: "low heat";
- ``home_care``: advice to the customer: "Do not tumble dry: hang it up.";
- ``strongest_limits``: the shortest, on a tag: "No tumble".

Temperatures are in degrees Celsius, with Fahrenheit beside them where asked. Nothing here promises
that a mark will come out, or that a piece is clean or safe.
"""

from care_rules.wording.counter import (
    HOTTEST,
    TreatmentLine,
    forbids,
    limit_name,
    limit_names,
    short_value,
    treatment_lines,
    value_words,
)
from care_rules.wording.crew import CrewLine, crew_lines, load_words
from care_rules.wording.customer import (
    HomeMaterial,
    home_advice,
    home_care,
    strongest_limits,
)
from care_rules.wording.words import (
    action_word,
    action_words,
    company_words,
    degrees,
    group_words,
    process_words,
    specialist_words,
    spin_words,
)

__all__ = [
    "HOTTEST",
    "CrewLine",
    "HomeMaterial",
    "TreatmentLine",
    "action_word",
    "action_words",
    "company_words",
    "crew_lines",
    "degrees",
    "forbids",
    "group_words",
    "home_advice",
    "home_care",
    "limit_name",
    "limit_names",
    "load_words",
    "process_words",
    "short_value",
    "specialist_words",
    "spin_words",
    "strongest_limits",
    "treatment_lines",
    "value_words",
]
