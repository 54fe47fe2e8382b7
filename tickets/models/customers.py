from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class Customer(models.Model):
    """A person who brings pieces. ``phone_reversed`` makes "last digits" an indexed search."""

    name = models.CharField(_("name"), max_length=120)
    phone = models.CharField(_("phone"), max_length=20, blank=True, help_text=_("in +44… form"))
    phone_reversed = models.CharField(max_length=20, blank=True, db_index=True, editable=False)
    email = models.EmailField(_("e-mail"), blank=True)
    address_line = models.CharField(_("address line"), max_length=160, blank=True)
    may_message = models.BooleanField(_("agreed to messages"), default=False)
    fragrance_free = models.BooleanField(_("no fragrance"), default=False)
    no_softener = models.BooleanField(_("no softener"), default=False)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        verbose_name = _("customer")
        verbose_name_plural = _("customers")
        ordering = ["name", "pk"]
        indexes = [
            models.Index(fields=["name", "id"], name="customer_by_name"),
            models.Index(fields=["changed_at"], name="customer_changed"),
        ]

    def __str__(self) -> str:
        return self.name


class CustomerWord(models.Model):
    """One normalised word of a customer's name, so that any part can be found by its start."""

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="words")
    word = models.CharField(max_length=120, db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["customer", "word"], name="customer_word_once")
        ]

    def __str__(self) -> str:
        return self.word
