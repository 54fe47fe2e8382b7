"""When the shop is open, its closed days, and its usual crews."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, time
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.models import Shop
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import ClosedDay, OpeningHours, StationCrew
from tickets.writing import atomic_write

_DAY = 24 * 60


@dataclass(frozen=True)
class DayHours:
    """A weekday as the owner sets it; a break has both ends or none."""

    opens: time
    closes: time
    break_from: time | None = None
    break_until: time | None = None
    cut_off: time | None = None


def set_hours(week: Mapping[int, DayHours | None]) -> None:
    """Opening hours by weekday (0 is Monday); None closes the day. All or nothing."""
    for weekday, hours in week.items():
        if hours is not None:
            _check_day(OpeningHours(weekday=weekday).get_weekday_display(), hours)
    if not any(week.values()):
        raise Refused(
            "never_open",
            _("The shop would have no open day."),
            _("Open one day at least: promises are reckoned in opening hours."),
        )
    with atomic_write():
        for weekday, hours in week.items():
            if hours is None:
                OpeningHours.objects.filter(weekday=weekday).delete()
            else:
                OpeningHours.objects.update_or_create(weekday=weekday, defaults=asdict(hours))


def set_week(
    week: Mapping[int, DayHours | None],
    people: Mapping[Station, Decimal],
    minutes: Mapping[Station, int | None],
) -> None:
    """Opening hours and the usual crews together: both or neither."""
    with atomic_write():
        set_hours(week)
        set_crews(people, minutes)


def _check_day(day: str, hours: DayHours) -> None:
    words = {
        "day": day,
        "opens": f"{hours.opens:%H:%M}",
        "closes": f"{hours.closes:%H:%M}",
        "start": f"{hours.break_from:%H:%M}" if hours.break_from else "–",
        "end": f"{hours.break_until:%H:%M}" if hours.break_until else "–",
        "cut_off": f"{hours.cut_off:%H:%M}" if hours.cut_off else "–",
    }
    if hours.opens >= hours.closes:
        raise Refused(
            "closes_before_opening",
            _("%(day)s: it closes at %(closes)s, not after it opens at %(opens)s.") % words,
            _("Set a later closing time, or mark the day as closed."),
        )
    start, end = hours.break_from or hours.opens, hours.break_until or hours.opens
    told_both = bool(hours.break_from) == bool(hours.break_until)
    if not told_both or (hours.break_from and not hours.opens < start < end < hours.closes):
        raise Refused(
            "bad_break",
            _(
                "%(day)s: a break from %(start)s until %(end)s does not lie between %(opens)s and "
                "%(closes)s."
            )
            % words,
            _("Give both ends of the break within the opening hours, or leave both empty."),
        )
    if hours.cut_off and not hours.opens <= hours.cut_off <= hours.closes:
        raise Refused(
            "bad_cut_off",
            _("%(day)s: %(cut_off)s is not between %(opens)s and %(closes)s.") % words,
            _("Give a time of the opening hours, or leave it empty."),
        )


def close_on(day: date, note: str) -> ClosedDay:
    """Add a closed day; a known one gets the new note."""
    with atomic_write():
        closed, _made = ClosedDay.objects.update_or_create(day=day, defaults={"note": note.strip()})
    return closed


def close_on_all(days: Mapping[date, str], holidays_of: str) -> int:
    """Take over public holidays as closed days, each with its name; returns how many are new.

    Days that are closed already keep their note. ``holidays_of`` is remembered for the next time.
    """
    with atomic_write():
        known = set(ClosedDay.objects.filter(day__in=days).values_list("day", flat=True))
        new = [ClosedDay(day=day, note=name[:80]) for day, name in days.items() if day not in known]
        ClosedDay.objects.bulk_create(new)
        shop = Shop.current()
        shop.holidays_of = holidays_of
        shop.save()
    return len(new)


def open_again(day_id: int) -> None:
    with atomic_write():
        ClosedDay.objects.filter(pk=day_id).delete()


def set_crews(
    people: Mapping[Station, Decimal], minutes: Mapping[Station, int | None] | None = None
) -> None:
    """How many people work at each station at once; above zero, halves allowed.

    ``minutes``: for how long each of them is there on a day; None, and a station left out, means
    as long as the shop works.
    """
    for station, count in people.items():
        if not (count.is_finite() and Decimal("0.1") <= count <= 99):
            raise Refused(
                "bad_crew",
                _("%(station)s: %(count)s people can't be reckoned with.")
                % {"station": station.label, "count": count},
                _("Write a number from 0.1 to 99; half a person is 0.5."),
            )
    minutes_of = minutes or {}
    for station, count_of in minutes_of.items():
        if count_of is not None and not 1 <= count_of <= _DAY:
            raise Refused(
                "bad_crew_minutes",
                ngettext(
                    "%(station)s: nobody works %(minutes)d minute a day.",
                    "%(station)s: nobody works %(minutes)d minutes a day.",
                    count_of,
                )
                % {"station": station.label, "minutes": count_of},
                _("Write 1 to %(most)d minutes, or leave it empty for the whole day.")
                % {"most": _DAY},
            )
    with atomic_write():
        for station, count in people.items():
            StationCrew.objects.update_or_create(
                station=station,
                defaults={"people": count, "minutes_a_day": minutes_of.get(station)},
            )
