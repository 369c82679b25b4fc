"""One round on one screen: photos, numbers, findings; an answer that grows until it is sent."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db.models import prefetch_related_objects
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_POST, require_safe

from lessons.answering import actions
from lessons.answering.forms.answer import AnswerForm, QueueFilter
from lessons.answering.models import Answer, Looking, Reply
from lessons.answering.pages.alike import alike, just_sent, left_out
from lessons.answering.pages.around import around
from lessons.answering.pages.asked import Answers, answers_at, marks_at, measured_at, photos_of, phrases_of
from lessons.answering.pages.at_once import of_this_stage, waiting_under
from lessons.answering.pages.beside import Beside
from lessons.answering.pages.changed import Changed
from lessons.answering.pages.marked import as_plain, marked_photos, planes_here
from lessons.answering.pages.passages import passages_on
from lessons.answering.pages.queue import waiting_line
from lessons.answering.pages.recordings import in_lines, recordings
from lessons.answering.pages.said import sentences
from lessons.answering.pages.steps import Steps
from lessons.answering.pages.unread import unread_replies
from lessons.answering.views.rows import address, also_chosen, refused, round_at_review, round_for
from lessons.sending.models import Submission
from lessons.sending.pages import Later
from studio.access import MemberRequest
from studio.errors import NotPossible
from studio.journal import Thing, note_opened
from studio.models import Member
from studio.roles import teaching_only

# what several parts of the page ask of the round
READ_AGAIN = ("measurements", "playing_test__ratings")
# what an answer is shown with
Part = Callable[[MemberRequest, Submission], HttpResponse]
View = Callable[[MemberRequest, int], HttpResponse]
WITH = ("author__person", "voice", "demonstration")


@teaching_only
def review(request: MemberRequest, pk: int) -> HttpResponse:
    """Everything about one round."""
    try:
        submission = round_at_review(request, pk)
    except NotPossible as reason:
        return render(request, "lessons/answering/gone.html", {"refusal": reason}, status=404)
    note_opened(request.member, Thing.ROUND, submission, submission.student_id)
    answers = answers_at(submission, request.member)
    page = _page(request, submission, answers, AnswerForm(instance=answers.own))
    return render(request, "lessons/answering/review.html", page)


def _page(
    request: MemberRequest, submission: Submission, answers: Answers, form: AnswerForm
) -> dict[str, Any]:
    member = request.member
    sent = photos_of(submission, member)
    photos = [photo for photo in sent if photo.is_ready]
    hidden_words = submission.reed.owner.hidden_words
    takes = in_lines(submission, member)
    marks, said_of = marks_at(submission, takes, member)
    numbers, came_later = measured_at(submission, member)
    later = Later(submission, takes, came_later)
    unread = unread_replies(member)
    phrases = phrases_of(member)
    said = passages_on([take for take in takes if take.pk in said_of], member, phrases=phrases)
    return {
        "submission": submission,
        "answer": answers.own,
        "form": form,
        "chosen": QueueFilter(member, request.GET or None),
        "unprepared": 0 if hidden_words else len(sent) - len(photos),
        "hidden_words": hidden_words if sent else "",
        "photos": marked_photos(photos, marks, planes_here(photos)),
        "takes": recordings(submission, takes, said, member),
        "said": sentences(),
        "marks": [as_plain(mark) for mark in marks],
        "numbers": of_this_stage(submission, numbers),
        "folded": waiting_under(submission, member),
        "steps": Steps(submission, later),
        "later": later,
        "looking": around(submission, member, answers.by_others),
        "said_back": [told for one in unread if one.reed_id == submission.reed_id for told in one.replies],
        "unread_here": len(unread),
        "phrases": phrases,
        "demonstrations": form.beside_it,
        "voice_key": uuid.uuid4(),
        "just_sent": just_sent(answers.lately, but=submission),
        "alike": alike(submission, also_chosen(request, submission.pk), member),
        "left_out": left_out(request.GET.getlist("skipped"), member),
    }


def _replies(submission: Submission, member: Member) -> list[Reply]:
    rows = Reply.objects.visible_to(member).filter(submission__reed=submission.reed_id)
    return list(rows.select_related("by__person", "submission"))


def _given(found: Callable[[MemberRequest, int], Submission]) -> Callable[[Part], View]:
    """Give a part of the page its round; that it was taken out meanwhile is said in its place."""

    def given(part: Part) -> View:
        @wraps(part)
        def answered(request: MemberRequest, pk: int) -> HttpResponse:
            try:
                submission = found(request, pk)
            except NotPossible as reason:
                return render(request, "lessons/answering/_looking.html", {"refusal": reason})
            return part(request, submission)

        return answered

    return given


@require_safe
@teaching_only
@_given(round_for)
def rest(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Whatever else there is of a round: what changed, all numbers, what was answered before."""
    prefetch_related_objects([submission], *READ_AGAIN)
    later = Later(submission)
    beside = Beside(submission, request.member)
    others = Answer.objects.visible_to(request.member).sent().filter(submission=submission)
    page = {
        "submission": submission,
        "later": later,
        "beside": beside,
        "changed": Changed(submission, request.member, later, beside.earlier),
        "others": others.exclude(author=request.member).select_related(*WITH),
        "replies": _replies(submission, request.member),
    }
    return render(request, "lessons/answering/_rest.html", page)


@require_safe
@teaching_only
@_given(round_for)
def laid_beside(request: MemberRequest, submission: Submission) -> HttpResponse:
    """What can be laid beside a round: what one press lays there, and the photos of earlier rounds."""
    beside = Beside(submission, request.member)
    page = {"beside": beside, "marks": [as_plain(mark) for mark in beside.marks]}
    return render(request, "lessons/answering/_beside.html", page)


@require_safe
@teaching_only
@_given(round_at_review)
def more_steps(request: MemberRequest, submission: Submission) -> HttpResponse:
    """The usual next steps that are not proposed at once."""
    steps = Steps(submission, Later(submission))
    return render(request, "lessons/answering/_steps_more.html", {"steps": steps})


@require_POST
@teaching_only
def looking(request: MemberRequest, pk: int) -> HttpResponse:
    """A sign of life from an open page, the first as it opens; answers with who else is there."""
    try:
        submission = round_for(request, pk)
    except NotPossible as reason:
        return render(request, "lessons/answering/_looking.html", {"refusal": reason})
    actions.look(submission, request.member)
    who = around(submission, request.member)
    if request.POST.get("state") == who.state:
        return HttpResponse(status=204)  # nothing new: nothing is read out again
    return render(request, "lessons/answering/_looking.html", {"submission": submission, "looking": who})


@require_POST
@teaching_only
def claim(request: MemberRequest, pk: int) -> HttpResponse:
    """Say 'I have this one', take it over, or let it go again."""
    submission, refusal = round_for(request, pk), None
    try:
        if request.POST.get("let_go"):
            actions.let_go(submission, request.member)
        else:
            actions.claim(submission, request.member, over=bool(request.POST.get("over")))
    except NotPossible as reason:
        refusal = reason
    if not request.htmx:
        return redirect(request.member.to("lessons:review", pk))
    page = {"submission": submission, "looking": around(submission, request.member), "refusal": refusal}
    return render(request, "lessons/answering/_looking.html", page)


@require_POST
@teaching_only
def keep(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep the words of an answer while they grow."""
    try:
        answer = actions.answer_of(round_for(request, pk), request.member)
        form = AnswerForm(request.POST, instance=answer)
        if not form.is_valid():
            return refused(next(iter(form.errors.values()))[0])
        actions.keep_answer(answer, form.written(), request.POST.get("since", ""))
    except NotPossible as reason:
        return refused(reason)
    kept = date_format(timezone.localtime(answer.saved_at), "TIME_FORMAT")
    return JsonResponse({"kept": kept, "since": answer.saved_at.isoformat()})


@require_POST
@teaching_only
def answer(request: MemberRequest, pk: int) -> HttpResponse:
    """Send the answer and go to the next reed."""
    try:
        submission = round_at_review(request, pk)
    except NotPossible as reason:
        return render(
            request, "lessons/answering/gone.html", {"refusal": reason, "written": request.POST}, status=422
        )
    others = also_chosen(request, pk)
    own = actions.answer_of(submission, request.member)
    form = AnswerForm(request.POST, instance=own)
    try:
        if form.is_valid():
            if own.was_sent_as(form.written()):
                return redirect(_next(request, pk, []))  # the reply to the first try was lost
            actions.keep_answer(own, form.written(), request.POST.get("since", ""))
            return redirect(_next(request, pk, _sent(own, others)))
        refusal = ""
    except NotPossible as reason:
        refusal = str(reason)
    return render(
        request,
        "lessons/answering/review.html",
        {**_page(request, submission, answers_at(submission, request.member), form), "refusal": refusal},
        status=422,
    )


def _sent(own: Answer, others: list[Submission]) -> list[int]:
    """Send it, to the others too; return which of them were left out."""
    if not others:
        actions.send_answer(own)
        return []
    return [one.submission.pk for one in actions.send_together(own, others)]


def _next(request: MemberRequest, pk: int, skipped: list[int]) -> str:
    """Return the address of the next of the chosen reeds, in the order of need, that no other teacher has."""
    chosen = QueueFilter(request.member, request.GET or None)
    others = Looking.objects.visible_to(request.member).filter(has_it=True).exclude(member=request.member)
    not_free = {pk, *others.values_list("submission", flat=True)}
    line = waiting_line(request.member, unread_replies(request.member))
    following = next(iter(chosen.narrow([place for place in line if place.pk not in not_free])), None)
    if following is None:
        return address(request.member.to("lessons:queue"), chosen.query, skipped=skipped)
    return address(request.member.to("lessons:review", following.pk), chosen.query, skipped=skipped)


@require_POST
@teaching_only
def take_back(request: MemberRequest, pk: int) -> HttpResponse:
    """Undo the sending of one's own answer, and of those sent with it; their words are a draft again."""
    try:
        back = actions.take_answer_back(actions.answer_of(round_for(request, pk), request.member))
    except NotPossible as reason:
        return render(request, "lessons/answering/gone.html", {"refusal": reason}, status=422)
    return redirect(address(request.member.to("lessons:review", pk), also=[one for one in back if one != pk]))
