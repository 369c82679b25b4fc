"""The rows that several views take: a round that was sent, a photo or a recording of a round."""

from __future__ import annotations

from typing import TypeVar

from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from studio.access import MemberRequest, fetch

Row = TypeVar("Row", Photo, Take)


def sent_round(request: MemberRequest, pk: int) -> Submission:
    """Return a round that was sent, with what its pages show, if this member may see it; else 404."""
    rows = Submission.objects.visible_to(request.member).sent()
    with_all = rows.select_related(
        "reed__version__pattern",
        "reed__owner__person",
        "reed__cane",
        "student__person",
        "version__pattern",
        "playing_test",
    )
    submission = fetch(with_all, request.member, pk)
    if submission.version_id == submission.reed.version_id:
        submission.version = submission.reed.version  # one row, so that its sheet is read once
    return submission


def of_round(request: MemberRequest, model: type[Row], submission: Submission, pk: int) -> Row:
    """Return a photo or a recording of this round, if this member may see it; else 404."""
    rows = model.objects.visible_to(request.member).filter(submissions=submission)
    return fetch(rows, request.member, pk)
