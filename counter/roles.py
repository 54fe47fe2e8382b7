"""Who may open what. Every named URL has one row here; a URL without a row is closed to all.

Roles are Django groups. An owner may do what the counter and the back room may.
"""

from __future__ import annotations

from django.contrib.auth.models import AnonymousUser, User

COUNTER, BACKROOM, OWNER = "counter", "backroom", "owner"
ROLES = (COUNTER, BACKROOM, OWNER)

EVERYONE = frozenset({"everyone"})
STAFF = frozenset(ROLES)
AT_COUNTER = frozenset({COUNTER, OWNER})
IN_BACK = frozenset({BACKROOM, OWNER})
ONLY_OWNER = frozenset({OWNER})

ROLES_FOR: dict[str, frozenset[str]] = {
    "login": EVERYONE,
    "logout": EVERYONE,  # nobody may be shut in, not even without a role
    "home": STAFF,
    "switch": STAFF,
    "switch_pin": STAFF,
    # counter: intake
    "desk": AT_COUNTER,
    "customer_new": AT_COUNTER,
    "customer": AT_COUNTER,
    "intake_start": AT_COUNTER,
    "intake": AT_COUNTER,
    "intake_piece_add": AT_COUNTER,
    "intake_piece": AT_COUNTER,
    "intake_piece_remove": AT_COUNTER,
    "intake_photo": AT_COUNTER,
    "intake_open": AT_COUNTER,
    "intake_discard": AT_COUNTER,
    "intake_overrides": ONLY_OWNER,
    # care: look up and try
    "care": STAFF,
    "care_entry": STAFF,
    "care_try": STAFF,
    "piece_heat": STAFF,
    "house_rules": ONLY_OWNER,
    # counter: pickup and money
    "pickup_find": AT_COUNTER,
    "pickup": AT_COUNTER,
    "pickup_scan": AT_COUNTER,
    "pickup_unscan": AT_COUNTER,
    "pickup_done": AT_COUNTER,
    "pay": AT_COUNTER,
    "paper_slip": AT_COUNTER,
    "paper_receipt": AT_COUNTER,
    # the day plan
    "plan": STAFF,
    "plan_wall": STAFF,
    "crew_days": AT_COUNTER,
    "paper_plan": STAFF,
    # owner
    "owner_day": ONLY_OWNER,
    "owner_figure": ONLY_OWNER,
    "owner_quarter": ONLY_OWNER,
    "shop_settings": ONLY_OWNER,
    "prices": ONLY_OWNER,
    "shop_hours": ONLY_OWNER,
    "shop_places": ONLY_OWNER,
    "shop_machines": ONLY_OWNER,
    "shop_machine": ONLY_OWNER,
    "shop_programme_new": ONLY_OWNER,
    "shop_programme": ONLY_OWNER,
    "shop_holidays": ONLY_OWNER,
    "shop_weights": ONLY_OWNER,
    "shop_partners": ONLY_OWNER,
    "shop_partner": ONLY_OWNER,
    "shop_staff": ONLY_OWNER,
    "shop_person": ONLY_OWNER,
    "messages_out": AT_COUNTER,
    "message_called": AT_COUNTER,
    # tickets and boards
    "tickets:ticket": STAFF,
    "tickets:piece": STAFF,
    "tickets:piece_photo": STAFF,
    "tickets:paper_tags": STAFF,
    "tickets:paper_cards": STAFF,
    "tickets:boards": STAFF,
    "tickets:board": STAFF,
    "tickets:scan": IN_BACK | AT_COUNTER,
    "tickets:loads": STAFF,
    "tickets:load": STAFF,
    "tickets:loads_scan": IN_BACK | AT_COUNTER,
    "tickets:load_open": IN_BACK | AT_COUNTER,
    "tickets:load_scan": IN_BACK | AT_COUNTER,
    "tickets:load_never_in": IN_BACK | AT_COUNTER,
    "tickets:hold": STAFF,
    "tickets:release": STAFF,
    "tickets:redo": STAFF,
    "tickets:return_undone": AT_COUNTER,
    "tickets:complete": STAFF,
    # API
    "api:schema": STAFF,
    "api:token": EVERYONE,
    "api:ticket-list": STAFF,
    "api:ticket-detail": STAFF,
    "api:piece-list": STAFF,
    "api:piece-detail": STAFF,
    "api:scan": STAFF,
    "api:board-list": STAFF,
    "api:board-detail": STAFF,
    "api:decide": STAFF,
    "api:piece-hold": STAFF,
    "api:piece-release": STAFF,
    "api:piece-redo": STAFF,
    "api:piece-return": AT_COUNTER,
    "api:ticket-complete": STAFF,
    "api:load-list": STAFF,
    "api:load-detail": STAFF,
    "api:board-loads": STAFF,
    "api:load-in": STAFF,
    "api:load-off": STAFF,
    "api:load-out": STAFF,
    "api:load-never-in": STAFF,
    "api:load-close": STAFF,
    "api:load-start": STAFF,
    "api:load-finish": STAFF,
    "api:load-undo": STAFF,
    "api:customer-list": AT_COUNTER,
    "api:customer-detail": AT_COUNTER,
    "api:payment": AT_COUNTER,
    "api:pickup": AT_COUNTER,
    "api:unknown": EVERYONE,
}

ROLES_TO_WRITE: dict[str, frozenset[str]] = {
    "api:ticket-list": AT_COUNTER,
}
"""Rows for methods that change something, where reading is open to more people."""

_READING = frozenset({"GET", "HEAD", "OPTIONS"})


def role_mark(role: str) -> str:
    """The name under which a user bears whether they have a role, where it was read with them."""
    return f"has_role_{role}"


def roles_of(user: User | AnonymousUser) -> frozenset[str]:
    """Roles of a user or of nobody (``AnonymousUser``), read with the user or once per object."""
    if not user.is_authenticated or not user.is_active:
        return frozenset()
    known: frozenset[str] | None = getattr(user, "_counter_roles", None)
    if known is None:
        if user.is_superuser:
            known = STAFF
        else:
            names = _read_with(user)
            if names is None:
                names = frozenset(user.groups.values_list("name", flat=True)) & STAFF
            known = STAFF if OWNER in names else names
        setattr(user, "_counter_roles", known)  # noqa: B010 - a mark of our own on it
    return known


def _read_with(user: User) -> frozenset[str] | None:
    marks = {role: getattr(user, role_mark(role), None) for role in ROLES}
    if None in marks.values():
        return None
    return frozenset(role for role, has_it in marks.items() if has_it)


def roles_for(url_name: str, method: str = "GET") -> frozenset[str]:
    """The row of a URL; empty where it has none, and so is closed."""
    row = ROLES_FOR.get(url_name, frozenset())
    return row if method in _READING else ROLES_TO_WRITE.get(url_name, row)


def allowed(user: User | AnonymousUser, url_name: str, method: str = "GET") -> bool:
    row = roles_for(url_name, method)
    return row == EVERYONE or bool(row & roles_of(user))
