"""What the views of answering share: the round to answer, and the one sentence for a script."""

from __future__ import annotations

from django.http import JsonResponse

from lessons.answering import actions
from lessons.sending.models import Submission
from lessons.sending.views.rows import sent_round
from studio.access import MemberRequest


def round_for(request: MemberRequest, pk: int) -> Submission:
    """Return a round to answer; NotPossible, in one sentence, if its reed was taken out meanwhile."""
    actions.refuse_taken_out(request.member, pk)
    return sent_round(request, pk)


def refused(reason: object) -> JsonResponse:
    """Answer a script with one sentence."""
    return JsonResponse({"refusal": str(reason)}, status=422)
