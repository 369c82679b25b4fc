"""How much stands unread before somebody, here and in the other studios they are in."""

from __future__ import annotations

from lessons.sending.models import Submission
from studio.models import Member


def unread_of(member: Member) -> int:
    """Return in how many rounds of this studio an answer or a reply is unread."""
    return Submission.objects.visible_to(member).unread_by(member).count()


def unread_elsewhere(member: Member) -> int:
    """Return the same of the person's other studios, together: one icon stands for all of them."""
    others = Member.objects.current().filter(person=member.person_id).exclude(pk=member.pk)
    return sum(unread_of(other) for other in others)
