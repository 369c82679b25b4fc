"""Rows that came with somebody's own list of reeds, which was kept elsewhere before."""

from __future__ import annotations

from django.db import models


class BroughtIn(models.Model):
    """The column by which all that came with one list is known, to say so and to take it back as one."""

    log = models.UUIDField(
        null=True, blank=True, editable=False, db_index=True, help_text="The list it came with."
    )

    class Meta:
        abstract = True
