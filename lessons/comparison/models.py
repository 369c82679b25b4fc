"""What a studio asked of a term."""

from __future__ import annotations

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import StudioRow
from studio.models import Member, Term


class AskedQuestion(StudioRow):
    """A question asked of a term: does this outcome go with that factor? Kept, since each one counts."""

    owner_path = "by"

    term = models.ForeignKey(Term, on_delete=models.CASCADE, related_name="questions")
    outcome = models.CharField(max_length=80)
    factor = models.CharField(max_length=80)
    lot = models.CharField(max_length=60, blank=True, help_text=_("Asked of the reeds of this cane alone."))
    by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["term", "outcome", "factor", "lot"], name="question_once_a_term")
        ]

    def __str__(self) -> str:
        return f"{self.outcome} / {self.factor}"
