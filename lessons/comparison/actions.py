"""Asking a term a question, and planning a comparison; each function is one transaction."""

from __future__ import annotations

import secrets
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.comparison.inference.lots import lots
from lessons.comparison.models import Allotment, AskedQuestion, PlannedComparison, blanks_for
from reeds.numbers.words import Stage
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.models import Member, Term

# one in twenty says something where nothing is; beyond this asking is fishing. Own choice
MOST_QUESTIONS = 24
SEEDS = 2**40


@transaction.atomic
def ask(term: Term, by: Member, outcome: str, factors: Iterable[str], lot: str = "") -> None:
    """Keep each question, of all reeds or of one cane lot's; asked once more, it stays the first's."""
    for factor in factors:
        AskedQuestion.objects.get_or_create(
            studio_id=term.studio_id,
            term=term,
            outcome=outcome,
            factor=factor,
            lot=lot,
            defaults={"by": by},
        )
    if AskedQuestion.objects.filter(term=term).count() > MOST_QUESTIONS:
        raise NotPossible(
            _("No more than %d questions are asked of one term: among so many, chance answers some.")
            % MOST_QUESTIONS
        )


@transaction.atomic
def set_plan(
    plan: PlannedComparison,
    by: Member,
    students: Iterable[Member],
    *,
    with_blanks: bool = False,
    seed: int | None = None,
) -> PlannedComparison:
    """Keep a plan and draw its lots, a draw a student; the same key twice is one plan.

    seed            of the draw; None for one that nobody knows beforehand
    with_blanks     those of the students' blanks that still can take a place take it at once
    """
    there = PlannedComparison.objects.filter(studio=by.studio_id, key=plan.key).first()
    if there:
        return there
    plan.studio, plan.made_by = by.studio, by
    plan.seed = secrets.randbelow(SEEDS) if seed is None else seed
    plan.save()
    plan.students.set(students)
    for student in plan.students.all():
        _draw(plan, student)
        for blank in blanks_for(plan, student)[: plan.blanks_each] if with_blanks else ():
            allot(plan, blank)
    return plan


def _draw(plan: PlannedComparison, student: Member) -> None:
    drawn = lots(plan.blanks_each, plan.seed, student.pk)
    Allotment.objects.bulk_create(
        Allotment(studio_id=plan.studio_id, plan=plan, student=student, place=place, arm=arm)
        for place, arm in enumerate(drawn, start=1)
    )


@transaction.atomic
def allot(plan: PlannedComparison, reed: Reed) -> Allotment:
    """Give a blank the first empty place of its student; a blank that has one keeps it."""
    places = Allotment.objects.select_for_update().filter(plan=plan, student=reed.owner_id)
    there = places.filter(reed=reed).first()
    if there:
        return there
    if not plan.is_running:
        raise NotPossible(_("This comparison is over: no blank takes a place in it any more."))
    if reed not in blanks_for(plan, reed.owner):
        raise NotPossible(_("This reed cannot take a place: choose a blank that is offered."))
    place = places.filter(reed__isnull=True).order_by("place").first()
    if place is None:
        raise NotPossible(_("Every place is taken already."))
    place.reed, place.taken_at = reed, timezone.now()
    place.save(update_fields=["reed", "taken_at"])
    return place


def note_not_kept(place: Allotment, by: Member, why: str) -> None:
    """Note that a reed did not go the way that was drawn for it, and why; nothing takes the note away."""
    if place.reed_id is None:
        raise NotPossible(_("No blank has taken this place yet."))
    rows = Allotment.objects.filter(pk=place.pk)
    rows.update(not_kept_why=" ".join(why.split()), not_kept_by=None if not why.strip() else by)


@transaction.atomic
def take_back(plan: PlannedComparison) -> None:
    """Take a plan back that nothing has been done by yet; its blanks are free again."""
    scraped = [stage for stage in Stage if not stage.is_blank and stage.order > Stage.BOUND.order]
    if Allotment.objects.filter(plan=plan, reed__stage__in=scraped).exists():
        raise NotPossible(_("Reeds have been scraped by it already: stop it instead, so that they are told."))
    rows = PlannedComparison.objects.standing().filter(pk=plan.pk, stopped_at__isnull=True)
    rows.update(taken_back_at=timezone.now())


def stop(plan: PlannedComparison, why: str) -> None:
    """Stop a comparison before its day; what came of it so far is told, and that it was stopped."""
    if not why.strip():
        raise NotPossible(_("Say why it is stopped: it belongs to what came of it."))
    rows = PlannedComparison.objects.running(timezone.localdate()).filter(pk=plan.pk)
    rows.update(stopped_at=timezone.now(), stopped_why=" ".join(why.split()))


def put_away(plan: PlannedComparison) -> None:
    """Have a comparison whose report was read no longer stand among what is due."""
    PlannedComparison.objects.due().filter(pk=plan.pk).update(put_away_at=timezone.now())
