"""What the owner's settings are called on their pages, and what is told once they are changed."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.shop.shop_tables import SheetWords, TableWords

# The tables of the shop


def machine_table() -> TableWords:
    return TableWords(
        title=_("Machines"),
        add_title=_("Add a machine"),
        add_says=_("Add machine"),
        note=_(
            "The first of a kind brings its usual programmes. Correct their minutes by your clock."
        ),
    )


def partner_table() -> TableWords:
    return TableWords(
        title=_("Partners"),
        add_title=_("Add a partner"),
        add_says=_("Add partner"),
        intro=_(
            "What the shop can't do itself goes out in bags. Promises count the partners' days."
        ),
    )


def place_table() -> TableWords:
    return TableWords(
        title=_("Rack places"),
        add_title=_("Add places"),
        add_says=_("Add places"),
        more=_("Print cards to scan"),
    )


def crew_day_table() -> TableWords:
    return TableWords(
        title=_("Who is there"),
        add_title=_("Another crew on a day"),
        add_says=_("Save"),
        intro=_(
            "Somebody is away, or comes to help: say how many are at the station then. New "
            "promises, the late list and the plan reckon with it."
        ),
        note=_("As many as usual takes the day off the list."),
        back=_("Back to the plan of the day"),
    )


def new_programme() -> str:
    return _("New programme")


def counts_for_loads() -> str:
    """What a machine or programme that is changed counts for."""
    return _(
        "It counts for loads from now on; loads that are closed keep what they were closed with."
    )


def counts_for_promises() -> str:
    """What a partner's days that are changed count for."""
    return _("The days count for new promises. Tickets that are promised keep their promise.")


# The sheets of prices and weights


def price_sheet() -> SheetWords:
    return SheetWords(
        title=_("Prices"),
        intro=_(
            "An empty field takes the price of “any other kind”, shown in grey. With neither, the "
            "counter types a price for each piece."
        ),
        save=_("Save prices"),
    )


def weight_sheet() -> SheetWords:
    return SheetWords(
        title=_("Weights"),
        intro=_(
            "What a piece of each kind weighs, dry. The scale at intake wins, then your figure, "
            "then the trade's in grey. Pieces in the shop keep theirs."
        ),
        note=_(
            "The trade's figures are estimates from cloth weight and area, good to a quarter "
            "(common trade practice)."
        ),
        save=_("Save weights"),
    )


# What is told once something is changed


def shop_saved() -> str:
    return _("The shop's settings are saved.")


def week_saved() -> str:
    return _("Hours and crews are saved. They count for new promises.")


def closed_on(day: date) -> str:
    return _("Closed on %(day)s.") % {"day": day.isoformat()}


def opens_again() -> str:
    return _("The closed day is off the list.")


def closed_days_new(count: int) -> str:
    return ngettext(
        "%(n)d closed day is new. Change or remove it here.",
        "%(n)d closed days are new. Change or remove them here.",
        count,
    ) % {"n": count}


def prices_changed(count: int) -> str:
    words = ngettext("%(count)d price changed.", "%(count)d prices changed.", count)
    return words % {"count": count} + " " + _("Tickets keep the prices they were opened with.")


def weights_changed(count: int) -> str:
    return ngettext("%(n)d weight changed.", "%(n)d weights changed.", count) % {"n": count}


def set_up(name: str) -> str:
    """A machine or partner is new."""
    return _("%(name)s is set up.") % {"name": name}


def row_saved(name: str) -> str:
    """A machine or a person is changed."""
    return _("%(name)s is saved.") % {"name": name}


def programme_saved(name: str) -> str:
    return _("Programme %(name)s is saved.") % {"name": name}


def partner_saved(name: str) -> str:
    return _("%(name)s is saved. Its days count for new promises.") % {"name": name}


def place_retired(place: str) -> str:
    return _("%(place)s is out of use.") % {"place": place}


def places_added(codes: Collection[str]) -> str:
    """``codes``: the places that were not in use before."""
    if not codes:
        return _("These places were in use before.")
    return _("In use now: %(places)s.") % {"places": ", ".join(codes)}


def usual_crew_again() -> str:
    return _("The usual crew counts again.")


def crew_set(days: int) -> str:
    """``days``: on how many days another crew is there."""
    return ngettext(
        "%(n)d day is set. It counts for new promises.",
        "%(n)d days are set. They count for new promises.",
        days,
    ) % {"n": days}


# People


def can_work_here(name: str) -> str:
    return _("%(name)s can work here now.") % {"name": name}


def no_role() -> str:
    return _("no role")
