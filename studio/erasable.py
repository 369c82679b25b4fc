"""Columns of what is not kept for ever: a member who may be erased, a studio that says for how long."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

MONTHS = (
    (3, _("3 months")),
    (6, _("6 months")),
    (12, _("a year")),
    (24, _("2 years")),
    (36, _("3 years")),
    (60, _("5 years")),
)


def number_alone(pk: int) -> str:
    """Return what is left of the name of who was erased."""
    return gettext("No. %(number)d, erased") % {"number": pk}


class Erasable(models.Model):
    """That somebody asked to be erased, that a teacher agreed, and that it was done: a number is left."""

    erasure_asked_at = models.DateTimeField(null=True, blank=True, editable=False)
    erasure_agreed_at = models.DateTimeField(null=True, blank=True, editable=False)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def is_erased(self) -> bool:
        return self.erased_at is not None

    @property
    def asks_to_be_erased(self) -> bool:
        return self.erasure_asked_at is not None and self.erased_at is None

    @property
    def number_alone(self) -> str:
        """What is left of a name."""
        return number_alone(self.pk)


class Keeping(models.Model):
    """How long a studio keeps things; nothing goes by itself where nothing is chosen."""

    keep_pictures_months = models.PositiveSmallIntegerField(
        _("photos, recordings and spoken notes are kept for"), null=True, blank=True, choices=MONTHS
    )
    keep_former_months = models.PositiveSmallIntegerField(
        _("people who left are kept for"), null=True, blank=True, choices=MONTHS
    )

    class Meta:
        abstract = True
