"""Settings that decisions, prices and promises hang on, and how often each kind was changed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, TypeVar

from django.db import models, transaction
from django.db.models import F

_Row = TypeVar("_Row", bound=models.Model)


class Revision(models.Model):
    """How often the settings of one kind were changed; no row means never.

    What was worked out before a change is told by it, for one query whatever was looked at.
    """

    name = models.CharField(max_length=20, primary_key=True)
    number = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.name} {self.number}"

    @classmethod
    def bump(cls, name: str) -> None:
        """Count one change. Must run in the transaction that makes it."""
        if not cls.objects.filter(pk=name).update(number=F("number") + 1):
            cls.objects.get_or_create(pk=name)
            cls.objects.filter(pk=name).update(number=F("number") + 1)


class SettingQuerySet(models.QuerySet[_Row]):
    """Rows of settings: whatever writes several at once counts as one change."""

    def update(self, **fields: Any) -> int:
        with transaction.atomic(using=self.db):
            self._bump()
            return super().update(**fields)

    def delete(self) -> tuple[int, dict[str, int]]:
        with transaction.atomic(using=self.db):
            self._bump()
            return super().delete()

    def bulk_create(self, objs: Iterable[_Row], *args: Any, **options: Any) -> list[_Row]:
        with transaction.atomic(using=self.db):
            self._bump()
            return super().bulk_create(objs, *args, **options)

    def bulk_update(self, objs: Iterable[_Row], *args: Any, **options: Any) -> int:
        with transaction.atomic(using=self.db):
            self._bump()
            return super().bulk_update(objs, *args, **options)

    def _bump(self) -> None:
        assert issubclass(self.model, Setting)
        Revision.bump(self.model.revision)


class Setting(models.Model):
    """A row that the owner sets. Every way of writing one counts as a change of its kind, so no
    door, form or admin page can forget to say so."""

    revision: ClassVar[str]
    """The kind of setting: a name of ``Revision``."""

    objects = SettingQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **options: Any) -> None:
        with transaction.atomic():
            Revision.bump(self.revision)
            super().save(*args, **options)

    def delete(self, *args: Any, **options: Any) -> tuple[int, dict[str, int]]:
        with transaction.atomic():
            Revision.bump(self.revision)
            return super().delete(*args, **options)
