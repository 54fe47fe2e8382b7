"""The people of the shop: their role groups, names, PINs and tokens."""

from counter.staff.services.people import add_person, make_role_groups, token_of

__all__ = ["add_person", "make_role_groups", "token_of"]
