"""What a student does: a draft that grows, then is sent. Each function is one transaction."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.models import Submission
from reeds import actions as bench
from reeds.checks.findings import Finding, need_of
from reeds.models import PlayingTest, Rating, Reed
from studio.errors import NotPossible
from studio.models import Member


def draft_of(reed: Reed, student: Member) -> Submission:
    """Return the reed's open draft, begun now if there is none; two pages at once share one."""
    there = Submission.objects.drafts().filter(reed=reed).first()
    if there:
        return there
    try:
        with transaction.atomic():
            last = Submission.objects.filter(reed=reed).aggregate(last=Max("round"))["last"] or 0
            return Submission.objects.create(
                studio_id=reed.studio_id, reed=reed, student=student, round=last + 1
            )
    except IntegrityError:  # begun by another tap meanwhile
        return Submission.objects.drafts().get(reed=reed)


@transaction.atomic
def save_draft(draft: Submission, typed: Mapping[str, str], question: str) -> None:
    """Keep what was typed, as it was typed."""
    Submission.objects.drafts().filter(pk=draft.pk).update(draft=dict(typed), question=question)
    draft.draft, draft.question = dict(typed), question


@transaction.atomic
def send(
    draft: Submission,
    entries: list[bench.Entry],
    ratings: Mapping[str, int],
    effort: int | None,
    findings: list[Finding],
) -> None:
    """Send a round: its numbers become the reed's, its findings are kept as they were shown."""
    locked = Submission.objects.select_for_update().select_related("reed__version").get(pk=draft.pk)
    if locked.sent_at:
        return  # a double tap
    reed = locked.reed
    if not (entries or ratings or locked.photos.exists() or locked.question.strip()):
        raise NotPossible(_("Add a photo, a number or a question before you send it."))
    locked.measurements.set(bench.record(reed, draft.student, entries))
    locked.playing_test = _playing_test(reed, draft.student, ratings, effort)
    locked.sent_at, locked.stage, locked.version = timezone.now(), reed.stage, reed.version
    locked.findings, locked.need = [finding.as_json() for finding in findings], need_of(findings)
    locked.save()


def _playing_test(
    reed: Reed, student: Member, ratings: Mapping[str, int], effort: int | None
) -> PlayingTest | None:
    if not ratings and effort is None:
        return None
    test = PlayingTest.objects.create(studio_id=reed.studio_id, reed=reed, by=student, effort=effort)
    Rating.objects.bulk_create(
        Rating(studio_id=reed.studio_id, test=test, item=item, speaks=speaks)
        for item, speaks in ratings.items()
    )
    return test
