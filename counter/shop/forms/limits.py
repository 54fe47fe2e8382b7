"""Says what is wrong with a number out of its limits: the value typed, and what may be written."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import TypeVar

from django import forms
from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

_Row = TypeVar("_Row", bound=models.Model)


def say_limits(form: forms.ModelForm[_Row]) -> None:
    """Give the limits of a form's numbers, with those of its model, one sentence for each side."""
    columns = {column.name: column for column in form._meta.model._meta.get_fields()}
    for name, field in form.fields.items():
        column = columns.get(name)
        more = column.validators if isinstance(column, models.Field) else ()
        every = [*field.validators, *more]
        rest = [validator for validator in field.validators if not isinstance(validator, _SIDES)]
        field.validators = [*rest, *_least(every), *_most(every)]


_SIDES = (MinValueValidator, MaxValueValidator)


def _least(validators: Iterable[object]) -> list[BaseValidator]:
    limits = [
        _limit(validator) for validator in validators if isinstance(validator, MinValueValidator)
    ]
    says = _(
        "%(show_value)s is too little. Write a number greater than or equal to %(limit_value)s."
    )
    return [MinValueValidator(max(limits), says)] if limits else []


def _most(validators: Iterable[object]) -> list[BaseValidator]:
    limits = [
        _limit(validator) for validator in validators if isinstance(validator, MaxValueValidator)
    ]
    says = _("%(show_value)s is too much. Write a number less than or equal to %(limit_value)s.")
    return [MaxValueValidator(min(limits), says)] if limits else []


def _limit(validator: BaseValidator) -> Decimal:
    bound = validator.limit_value
    return bound() if callable(bound) else bound
