"""What is said of a request that could not be taken, to a person or to a program."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from counter.roles import BACKROOM, COUNTER, OWNER

# Requests that reached no page


def request_unusable() -> tuple[str, str]:
    """A request that no view has seen, and the cure."""
    return (
        _("The request can't be used as it was sent: its host name, its form or its size."),
        _("Use an address that the owner lets the shop answer to, and send less at once."),
    )


def check_address(schema: str) -> str:
    """``schema``: the address that lists all addresses of the API."""
    return _("Check the address: %(schema)s lists all, and each ends with a slash.") % {
        "schema": schema
    }


def page_too_old() -> str:
    return _(
        "The page was older than the last sign-in on this device, so what was sent last was not "
        "done. Look at it, and do it once more."
    )


def takes_forms_only() -> str:
    """The address of a form, opened without one."""
    return _("This address only takes what a form sends. Go on from its page.")


def went_wrong(at: str) -> tuple[str, str]:
    """An unforeseen fault at a moment that the log names too, and the cure."""
    return (
        _("Something went wrong in the shop's computer, not in what you sent (%(at)s).")
        % {"at": at},
        _(
            "Send it once more, with the same key where it has one: nothing is done twice then. "
            "If it fails again, tell the owner this time."
        ),
    )


def opens_to(roles: Collection[str]) -> str:
    """Who may open a page, by the roles that its row names."""
    names = {
        COUNTER: _("the counter"),
        BACKROOM: _("the back room"),
        OWNER: _("the owner"),
    }
    who = [words for role, words in names.items() if role in roles]
    if not who:
        return _("Nobody opens it.")
    return _("Only for %(who)s.") % {"who": _(" and ").join(who)}


# Requests that the API refused

NO_SUCH_PAGE = gettext_lazy("There is no page {page_number}: {message}.")
"""The framework fills in the number that was asked for and what is wrong with it."""


def agree_with(key: str) -> str:
    """``key``: of the programme that a load would be lowered to."""
    return _("Send %(key)s here to agree.") % {"key": key}


def read_again() -> str:
    return _("Read the number on the tag or the slip again.")


def bad_fields(paths: Iterable[str]) -> tuple[str, str]:
    """Fields that can't be used, each named once, and the cure."""
    named = ", ".join(dict.fromkeys(paths))
    return (
        _("Some fields can't be used: %(fields)s.") % {"fields": named},
        _("Correct the fields named here and send again."),
    )


def no_place_in_list() -> str:
    return _("This is no place in the list; take it from next.")


def send_the_token() -> str:
    return _("Send the page's token in the header X-CSRFToken, or sign in with a token.")


def cure_of_status(number: int) -> str:
    """What to do about the framework's own refusal with this HTTP status; empty for others."""
    cures = {
        400: _("Send one JSON value in UTF-8."),
        401: _("Sign in, or send a token from token/ in the header Authorization."),
        403: _("Ask the owner for the role that may do this."),
        404: _("Check the address: schema/ lists all, and each ends with a slash."),
        405: _("Look at the schema for the methods of this address."),
        406: _("Ask for application/json."),
        413: _("Send less at once."),
        415: _("Send application/json."),
        429: _("Wait before the next try."),
    }
    return cures.get(number, "")
