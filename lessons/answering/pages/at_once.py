"""What is read of a round at once: the older rounds that wait under it, and the numbers of its stage."""

from __future__ import annotations

from collections.abc import Sequence

from lessons.sending.models import Submission
from reeds.checks.findings import spread
from reeds.reed.models.measurement import Measurement
from studio.models import Member

FEWEST, MOST = 2, 4


def waiting_under(submission: Submission, member: Member) -> list[Submission]:
    """Return the older rounds of its reed that are answered together with it, newest first."""
    if not vars(submission).get("is_over_others", True):
        return []
    rows = Submission.objects.visible_to(member)
    return list(rows.filter(pk__in=submission.older_waiting()).order_by("-round"))


def of_this_stage(submission: Submission, sent: Sequence[Measurement]) -> list[Measurement]:
    """Return the newest number of a few quantities of a round's stage, first those that a cause names.

    The more causes are told, the fewer numbers are read at once. `sent` are all numbers, oldest first.
    """
    newest = {row.quantity: row for row in sent}.values()
    here = [row for row in newest if row.stage == submission.stage and not row.of.at_bench]
    causes = [one for one in submission.found if one.accuses]
    named = {key for one in spread(causes) for key in (one.quantity, *one.also)}
    here.sort(key=lambda row: row.quantity not in named)
    return here[: max(FEWEST, MOST - max(0, len(causes) - 1))]
