"""Asking a term a question: one transaction."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.utils.translation import gettext as _

from lessons.comparison.models import AskedQuestion
from studio.errors import NotPossible
from studio.models import Member, Term

# one in twenty says something where nothing is; beyond this asking is fishing. Own choice
MOST_QUESTIONS = 24


@transaction.atomic
def ask(term: Term, by: Member, outcome: str, factors: Iterable[str], lot: str = "") -> None:
    """Keep each question, of all reeds or of one cane lot's; asked once more, it stays the first's."""
    for factor in factors:
        AskedQuestion.objects.get_or_create(
            term=term,
            outcome=outcome,
            factor=factor,
            lot=lot,
            defaults={"studio_id": term.studio_id, "by": by},
        )
    if AskedQuestion.objects.filter(term=term).count() > MOST_QUESTIONS:
        raise NotPossible(
            _("No more than %d questions are asked of one term: among so many, chance answers some.")
            % MOST_QUESTIONS
        )
