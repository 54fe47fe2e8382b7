from __future__ import annotations

from functools import partial

from django.apps import AppConfig
from django.db.models.signals import post_migrate
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _

from care_rules import speech
from tickets.shop import face
from tickets.shop.face import register_face


def read_shop_face() -> face.ShopFace:
    from counter.models import Shop
    from counter.money.amounts import format_money

    shop = Shop.current()
    return face.ShopFace(
        name=shop.name,
        tag_size=shop.tag_size,
        tag_dpi=shop.tag_dpi,
        fahrenheit=shop.fahrenheit,
        slip_paper=shop.slip_paper,
        country=shop.country,
        prices=shop.running_costs,
        write_money=partial(format_money, shop=shop),
    )


class CounterConfig(AppConfig):
    name = "counter"
    verbose_name = _("Counter")

    def ready(self) -> None:
        from counter.care import services as care
        from counter.messages.services import connect_notices
        from counter.money.services import connect_balances
        from counter.staff import services as staff

        speech.speak_through(lambda: get_language() or speech.ENGLISH, gettext)
        connect_notices()
        connect_balances()
        register_face(read_shop_face)
        care.connect()
        post_migrate.connect(staff.make_role_groups, sender=self)
