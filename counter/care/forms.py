"""Form shapes of the house rules; what they may say is ruled by ``counter.care.house_rules``."""

from __future__ import annotations

import difflib
from functools import cache

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

from care_rules import EVERY_PIECE
from care_rules.house import TABLES
from care_rules.limits import AXES
from care_rules.rows import row_name
from care_rules.tables import book
from care_rules.why import stops
from care_rules.wording import HOTTEST, limit_name, value_words
from counter.care.wording import TABLE_WORDS
from tickets.wording import LEVEL_WORDS

_BANS = {"wash.max_c": "wash.allowed=false"}
"""Water of 0 °C means no water at all, with everything that follows from that."""


def abouts() -> dict[str, str]:
    """What a house rule may be about: the words on the page -> rule key."""
    return _abouts(get_language())


@cache
def _abouts(_language: str) -> dict[str, str]:
    key_of = {str(_("Every piece")): EVERY_PIECE}
    for table in TABLES:
        for row in book()[table].values():
            name = row_name(row)
            key_of[f"{name[:1].upper()}{name[1:]} ({TABLE_WORDS[table]})"] = row.key
    return key_of


class HouseRuleForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Short name"),
        max_length=50,
        help_text=gettext_lazy(
            "Stands among the reasons of a decision, such as: no wool in dryers."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    about = forms.CharField(
        label=gettext_lazy("About"),
        max_length=120,
        help_text=gettext_lazy(
            "A fibre, trim, colour, kind, stain, how it is made, or every piece."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "abouts"}),
    )
    level = forms.ChoiceField(
        label=gettext_lazy("Caution"),
        required=False,
        choices=[("", gettext_lazy("no caution of its own")), *LEVEL_WORDS.items()],
    )
    says = forms.CharField(label=gettext_lazy("Caution says"), max_length=300, required=False)
    do = forms.CharField(label=gettext_lazy("What to do"), max_length=300, required=False)
    reason = forms.CharField(label=gettext_lazy("Why"), max_length=300)

    def __init__(self, data: QueryDict | None = None) -> None:
        super().__init__(data, label_suffix="")
        for path in AXES:
            self.fields[self.field_of(path)] = self._limit_field(path)

    @staticmethod
    def field_of(path: str) -> str:
        return f"limit-{path}"

    @staticmethod
    def _limit_field(path: str) -> forms.Field:
        if path in HOTTEST:
            return forms.IntegerField(
                label=_("%(limit)s, most °C") % {"limit": limit_name(path)},
                required=False,
                min_value=0,
                max_value=HOTTEST[path],
                help_text=_("0 means never."),
            )
        named = [(value, value_words(path, value)) for value, _place in stops(path)[1:]]
        return forms.ChoiceField(
            label=limit_name(path), required=False, choices=[("", _("as the tables say")), *named]
        )

    def clean_about(self) -> str:
        typed = " ".join(self.cleaned_data["about"].split())
        words = {name.casefold(): key for name, key in abouts().items()}
        keys = {key.casefold(): key for key in abouts().values()}
        key_found = words.get(typed.casefold()) or keys.get(typed.casefold())
        if key_found is None:
            bare = typed.casefold()
            by_name = [key for name, key in words.items() if name.split(" (")[0] == bare]
            key_found = by_name[0] if len(by_name) == 1 else None
        if key_found is None:
            near = difflib.get_close_matches(typed.casefold(), list(words), 3, 0.4)
            shown = [name for name in abouts() if name.casefold() in near]
            raise ValidationError(
                _("“%(typed)s” is not in the tables. Did you mean: %(names)s?")
                % {"typed": typed, "names": ", ".join(shown) or EVERY_PIECE}
            )
        return key_found

    def limit_fields(self) -> list[forms.BoundField]:
        return [self[self.field_of(path)] for path in AXES]

    def word_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("level", "says", "do")]

    def limits(self) -> str:
        """The limits as the tables write them. Only after ``is_valid``."""
        parts = []
        for path in AXES:
            value = self.cleaned_data.get(self.field_of(path))
            if value == 0:
                parts.append(_BANS.get(path, f"{path}=0"))
            elif value not in (None, ""):
                parts.append(f"{path}={value}")
        return "; ".join(parts)
