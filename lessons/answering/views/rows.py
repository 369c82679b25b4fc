"""What the views of answering share: the round to answer, and the one sentence for a script."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlencode

from django.http import Http404, JsonResponse

from lessons.answering.actions.draft import refuse_taken_out
from lessons.answering.actions.left_out import rounds_of
from lessons.answering.pages.asked import round_of
from lessons.sending.models import Submission
from lessons.sending.views.rows import sent_round
from studio.access import MemberRequest
from studio.asked import row_numbers


def round_for(request: MemberRequest, pk: int) -> Submission:
    """Return a round to answer; NotPossible, in one sentence, if its student has it again meanwhile."""
    try:
        return sent_round(request, pk)
    except Http404:
        refuse_taken_out(request.member, pk)
        raise


def round_at_review(request: MemberRequest, pk: int) -> Submission:
    """Return the same with what its page shows at once, asked for in one query that is written once."""
    there = round_of(request.member, pk)
    if there is None:
        refuse_taken_out(request.member, pk)
        raise Http404
    return there


def refused(reason: object) -> JsonResponse:
    """Answer a script with one sentence."""
    return JsonResponse({"refusal": str(reason)}, status=422)


def numbers_in(given: Iterable[str]) -> list[int]:
    """Return the row numbers in what an address or a form said; 404 where one is none."""
    numbers = row_numbers(given)
    if not all(numbers):
        raise Http404
    return numbers


def rounds_in(request: MemberRequest, given: Iterable[str]) -> list[Submission]:
    """Return the rounds that were chosen, in their order; 404 where one is none of this studio's."""
    try:
        return rounds_of(request.member, numbers_in(given))
    except Submission.DoesNotExist:
        raise Http404 from None


def also_chosen(request: MemberRequest, pk: int) -> list[Submission]:
    """Return the rounds that are to be answered together with this one."""
    given = request.POST.getlist("also") or request.GET.getlist("also")
    return [row for row in rounds_in(request, given) if row.pk != pk]


def address(path: str, query: str = "", **lists: Iterable[int]) -> str:
    """Return an address with what was chosen in the queue (`query`) and lists of row numbers."""
    more = urlencode([(name, pk) for name, pks in lists.items() for pk in pks])
    asked = "&".join(part for part in (query.removeprefix("?"), more) if part)
    return f"{path}?{asked}" if asked else path
