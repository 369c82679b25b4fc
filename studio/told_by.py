"""How a person chooses to be told that something waits: by a notice on their devices, by e-mail, or not."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class TellBy(models.TextChoices):
    """One way; what it tells stands on the desk and in the queue whichever it is."""

    PHONE = "phone", _("by a notice on this device")
    MAIL = "mail", _("by e-mail")
    NEITHER = "neither", _("not at all")


class ToldBy(models.Model):
    """The column of it."""

    told_by = models.CharField(max_length=8, choices=TellBy.choices, default=TellBy.MAIL, editable=False)

    class Meta:
        abstract = True
