"""What the owner may change: opening, crews, rack places, prices, people. One door for each."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, time
from decimal import Decimal

from django.contrib.auth.models import Group, User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.models import PriceItem, Shop, StaffProfile
from counter.roles import OWNER, ROLES
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import ClosedDay, OpeningHours, RackPlace, StationCrew
from tickets.tracking.wording import name_of
from tickets.writing import atomic_write

PriceKey = tuple[str, str, str]
"""Service, kind and operation of a price; kind and operation may be empty."""

_PLACE = re.compile(r"[A-Z0-9]+(-[A-Z0-9]+)*")
_PLACE_RANGE = re.compile(r"([A-Z0-9-]*?)(\d+)\s*\.\.\s*\1(\d+)")
MOST_PLACES_AT_ONCE = 200
_DAY = 24 * 60


# Opening and crews


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


def _check_day(day: str, hours: DayHours) -> None:
    told = {
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
            _("%(day)s: it closes at %(closes)s, not after it opens at %(opens)s.") % told,
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
            % told,
            _("Give both ends of the break within the opening hours, or leave both empty."),
        )
    if hours.cut_off and not hours.opens <= hours.cut_off <= hours.closes:
        raise Refused(
            "bad_cut_off",
            _("%(day)s: %(cut_off)s is not between %(opens)s and %(closes)s.") % told,
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
    told = minutes or {}
    for station, count_of in told.items():
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
                defaults={"people": count, "minutes_a_day": told.get(station)},
            )


# Rack places


def add_places(text: str) -> list[str]:
    """Add places such as ``A1 A2`` or ``B1..B20``; returns the codes that are new or in use again.

    Raises ``Refused`` for a code that can't be one; then none is added.
    """
    codes = _read_places(text)
    if not codes:
        raise Refused("no_place", _("No place was written."), _("Write one, like A1 or B1..B20."))
    with atomic_write():
        used = set(
            RackPlace.objects.filter(code__in=codes, in_use=True).values_list("code", flat=True)
        )
        new = [code for code in codes if code not in used]
        for code in new:
            RackPlace.objects.update_or_create(code=code, defaults={"in_use": True})
    return new


def retire_place(place_id: int) -> RackPlace | None:
    """Take a place out of use; refused while pieces hang there. None when it does not exist."""
    with atomic_write():
        place = RackPlace.objects.select_for_update().filter(pk=place_id).first()
        if place is None:
            return None
        hanging = [piece.spoken for piece in place.pieces.order_by("code")[:5]]
        if hanging:
            raise Refused(
                "place_in_use",
                _("Place %(place)s still holds: %(pieces)s.")
                % {"place": place.code, "pieces": ", ".join(hanging)},
                _("Rack them at another place first."),
            )
        place.in_use = False
        place.save(update_fields=["in_use"])
    return place


def _read_places(text: str) -> list[str]:
    found: list[str] = []
    plain = re.sub(r"\s*\.\.\s*", "..", text.upper())
    for word in re.split(r"[\s,;]+", plain):
        if span := _PLACE_RANGE.fullmatch(word):
            stem, first, last = span[1], int(span[2]), int(span[3])
            found += [f"{stem}{number:0{len(span[2])}d}" for number in range(first, last + 1)]
        elif word:
            found.append(word)
        if len(found) > MOST_PLACES_AT_ONCE:
            raise Refused(
                "too_many_places",
                _("%(text)s makes more than %(most)d places.")
                % {"text": word, "most": MOST_PLACES_AT_ONCE},
                _("Add them in smaller groups."),
            )
    for code in found:
        if not _PLACE.fullmatch(code) or len(code) > 8:
            raise Refused(
                "bad_place",
                _("%(code)s can't be a place.") % {"code": code},
                _("Use up to 8 capital letters, digits and hyphens, like A1 or RAIL-2."),
            )
    return list(dict.fromkeys(found))


# Prices


def save_prices(wanted: Mapping[PriceKey, Decimal | None]) -> int:
    """Write a price list: an amount sets a price, None takes it off. Returns how many changed.

    Tickets keep the prices they were opened with. An operation has one price, whether it is
    listed under mend or alter.
    """
    changed = 0
    with atomic_write():
        known = {(row.service, row.kind, row.work): row for row in PriceItem.objects.all()}
        for key, amount in wanted.items():
            row = known.get(key)
            if amount is None and row is not None:
                row.delete()
            elif amount is not None and row is None:
                PriceItem.objects.create(service=key[0], kind=key[1], work=key[2], amount=amount)
            elif amount is not None and row is not None and row.amount != amount:
                row.amount = amount
                row.save(update_fields=["amount"])
            else:
                continue
            changed += 1
    return changed


# People


def change_person(
    user: User,
    *,
    full_name: str,
    role: str,
    active: bool,
    password: str = "",
    pin: str = "",
    by: User,
) -> User:
    """Change a member of staff; an empty password or PIN stays as it is. All or nothing.

    Raises ``Refused`` where nobody would be left as owner, where people would shut themselves
    out, and for a password or PIN that is too weak.
    """
    if role not in ROLES:
        raise Refused(
            "bad_role",
            _("%(role)s is no role.") % {"role": role or "–"},
            _("Choose one of: %(roles)s.") % {"roles": ", ".join(ROLES)},
        )
    with atomic_write():
        locked = User.objects.select_for_update().get(pk=user.pk)
        _check_owner_stays(locked, role, active, by)
        first, _gap, last = " ".join(full_name.split()).partition(" ")
        locked.first_name, locked.last_name, locked.is_active = first[:150], last[:150], active
        if password:
            check_password_strength(password, locked)
            locked.set_password(password)
        locked.save()
        locked.groups.remove(*Group.objects.filter(name__in=ROLES).exclude(name=role))
        locked.groups.add(Group.objects.get_or_create(name=role)[0])
        if pin:
            profile, _made = StaffProfile.objects.get_or_create(user=locked)
            check_pin(profile, pin)
            profile.failed_pins, profile.locked_until = 0, None
            profile.save()
    return locked


def check_password_strength(password: str, user: User) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise Refused(
            "weak_password", _("That password is too weak."), " ".join(error.messages)
        ) from error


def check_pin(profile: StaffProfile, pin: str) -> None:
    try:
        profile.set_pin(pin)
    except ValidationError as error:
        raise Refused("bad_pin", _("That PIN can't be used."), " ".join(error.messages)) from error


def owners() -> Sequence[User]:
    """People who can open the owner's pages."""
    return list(User.objects.filter(is_active=True, groups__name=OWNER).distinct())


def _check_owner_stays(user: User, role: str, active: bool, by: User) -> None:
    if user == by and not active:
        raise Refused(
            "yourself",
            _("%(name)s, you can't shut yourself out.") % {"name": name_of(user)},
            _("Ask another owner to do it."),
        )
    loses = role != OWNER or not active
    if loses and [one.pk for one in owners()] == [user.pk]:
        raise Refused(
            "last_owner",
            _("%(name)s is the only owner.") % {"name": name_of(user)},
            _("Make somebody else an owner first."),
        )
