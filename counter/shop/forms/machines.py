"""Form shapes of machines and programmes; the rules are in ``tickets.shop.machines``."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.translation import gettext_lazy as _

from counter.shop.forms.limits import say_limits
from counter.shop.queries import programmes_of
from tickets.models import Machine, MachineKind, Programme
from tickets.models.machines import DRYING_PLACES, NO_DRUM
from tickets.shop import machines

if TYPE_CHECKING:
    _MachineModelForm = forms.ModelForm[Machine]
    _ProgrammeModelForm = forms.ModelForm[Programme]
else:
    _MachineModelForm = _ProgrammeModelForm = forms.ModelForm


class MachineForm(_MachineModelForm):
    """A machine by the litres of its drum, or by its rated kilograms of cotton."""

    litres = forms.DecimalField(
        label=_("Drum litres"), min_value=1, max_value=5000, decimal_places=1, required=False
    )
    rated_kg = forms.DecimalField(
        label=_("or rated kg"),
        min_value=Decimal("0.1"),
        max_value=500,
        decimal_places=1,
        required=False,
        help_text=_("Washers are rated at 10 litres of drum for a kg of cotton (EN 17116-4)."),
    )

    class Meta:
        model = Machine
        fields = [
            "name",
            "kind",
            "litres",
            "rated_kg",
            "spin_g",
            "turnaround",
            "most_pieces",
            "heat_pump",
            "gas",
            "in_use",
        ]
        labels = {
            "turnaround": _("Minutes to refill"),
            "most_pieces": _("Most pieces"),
            "heat_pump": _("Heat pump, condenser"),
        }
        help_texts = {
            "kind": _(
                "An ironer or a press needs no drum: it is one person's place. A drying rail or a "
                "flat place needs the number of pieces that it holds."
            ),
            "most_pieces": _("0: as many as fit."),
        }

    only: forms.ModelMultipleChoiceField = forms.ModelMultipleChoiceField(
        label=_("Runs only"),
        queryset=None,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("None ticked: every programme of its kind."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_limits(self)
        if self.instance.pk is None or self.instance.kind in NO_DRUM:
            del self.fields["only"]
        else:
            field = self.fields["only"]
            assert isinstance(field, forms.ModelMultipleChoiceField)
            field.queryset = programmes_of(self.instance.kind)
            field.initial = self.instance.programmes.all()

    @property
    def chosen(self) -> list[Programme] | None:
        """The programmes ticked; None where the form did not ask."""
        return list(self.cleaned_data["only"]) if "only" in self.fields else None

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        kind = data.get("kind")
        if kind in DRYING_PLACES and data.get("most_pieces") == 0:
            self.add_error("most_pieces", _("Say how many pieces it holds at once."))
        if kind in NO_DRUM:
            data["litres"] = Decimal(0)
        elif data.get("litres") is None and "litres" not in self.errors:
            rated = data.get("rated_kg")
            if rated is None:
                self.add_error("litres", _("Give the litres of the drum, or the rated kg."))
            elif data.get("kind") == MachineKind.DRYER:
                self.add_error("litres", _("A dryer needs the litres of its drum."))
            else:
                data["litres"] = machines.rated_litres(rated)
        return data


class ProgrammeForm(_ProgrammeModelForm):
    class Meta:
        model = Programme
        fields = [
            "name",
            "max_c",
            "tumble",
            "action",
            "spin",
            "minutes",
            "litres_per_kg",
            "in_use",
        ]
        labels = {"litres_per_kg": _("Litres a kg")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_limits(self)
        dryer = self.instance.kind == MachineKind.DRYER
        for name in ("max_c", "action", "spin") if dryer else ("tumble",):
            del self.fields[name]
