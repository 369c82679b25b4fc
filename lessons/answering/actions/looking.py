"""Two teachers on one reed: who looks at a round, who has it."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.models import Looking
from lessons.sending.models import Submission
from studio.errors import NotPossible
from studio.models import Member


def look(submission: Submission, teacher: Member) -> None:
    """Note that this teacher has the round open now."""
    Looking.objects.update_or_create(
        studio_id=submission.studio_id,
        submission=submission,
        member=teacher,
        defaults={"seen_at": timezone.now()},
    )


@transaction.atomic
def claim(submission: Submission, teacher: Member, *, over: bool = False) -> None:
    """Say 'I have this one'; from another who has it, only knowingly (`over`)."""
    Submission.objects.select_for_update().get(pk=submission.pk)
    others = Looking.objects.filter(submission=submission, has_it=True).exclude(member=teacher)
    other = others.select_related("member__person").first()
    if other and not over:
        raise NotPossible(_("%(name)s has this one already.") % {"name": other.member})
    others.update(has_it=False)
    look(submission, teacher)
    Looking.objects.filter(submission=submission, member=teacher).update(has_it=True)


def let_go(submission: Submission, teacher: Member) -> None:
    """Take 'I have this one' back."""
    Looking.objects.filter(submission=submission, member=teacher).update(has_it=False)
