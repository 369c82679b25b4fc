"""One reed: its life, and what one does to it from its page."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from reeds.checks.findings import Outcome, in_order
from reeds.checks.mending import told
from reeds.checks.next_steps import experiment_in
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Method, Stage, Style
from reeds.reed import actions
from reeds.reed.facts import RowsOf, answers_of, clips_of, rest_of
from reeds.reed.findings import findings_of
from reeds.reed.forms.reed import ClipForm, GiveUpForm, MadeOfForm, SheetMoveForm, StepForm
from reeds.reed.forms.strokes import LifeForm, StrokesForm
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.reed.playing_life import life_of, note_life
from reeds.sheet.models.doubt import OwnDoubt
from reeds.timeline.attached import RowsOfLife
from reeds.timeline.pages import timeline_of
from reeds.timeline.views.bench import FORMS, folds_of, then
from reeds.timeline.views.rows import reed_for
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.offline import kept_offline
from studio.roles import guardians_too, teaching_only


def _offsets(rows: RowsOf) -> list[tuple[Quantity, float]]:
    """What the player's instrument wants beside the sheet."""
    known = rows.sheet.known
    return [(known[key], delta) for key, delta in rows.offsets.items() if key in known]


def page_of(request: MemberRequest, reed: Reed, refused: str = "", **given: Any) -> HttpResponse:  # noqa: ANN401  # forms, refusal
    """Answer with the reed's page; the fold of what was `refused` is open, its forms as they were filled."""
    rows = RowsOfLife(reed)
    found = findings_of(reed, answers=answers_of(reed, rows), rows=rows)
    findings = in_order(told(found, Stage(reed.stage), reed.version.sheet.known))
    doing = experiment_in(findings, Style(reed.version.pattern.style))
    clips = clips_of(rows.events)
    member, is_over = request.member, Stage(reed.stage).is_over
    folds = [] if member.is_guardian else folds_of(reed, member, doing, refused)
    page = {
        "reed": reed,
        "moments": timeline_of(rows, member),
        "look": [one for one in findings if one.needs_attention and one.outcome is not Outcome.MISSING],
        "missing": [finding for finding in findings if finding.outcome is Outcome.MISSING],
        "calm": [finding for finding in findings if not finding.needs_attention],
        "life": life_of(rows.events),
        "clipped": sum((clip.amount for clip in clips), Measured(0.0)) if clips else None,
        "offsets": _offsets(rows),
        "rested": rest_of(reed, rows.events) or reed.rested,
        "folds": folds,
        "is_own": reed.owner_id == member.pk,
        "may_be_sent": reed.owner_id == member.pk and not member.teaches and not is_over,
        "is_over": is_over,
    }
    for fold in folds:
        if fold.is_open:
            page |= FORMS[fold.part](member, reed, doing)
    return render(request, "reeds/timeline/reed.html", page | given, status=422 if refused else 200)


@guardians_too
@require_safe
@kept_offline
def reed(request: MemberRequest, pk: int) -> HttpResponse:
    """A reed's life as one timeline, where it stands, and what the checks say of it now."""
    return page_of(request, reed_for(request, pk))


def _back_to(request: MemberRequest, reed: Reed, told: str) -> HttpResponse:
    messages.success(request, told)
    return redirect(request.member.to("reeds:reed", reed.pk))


@require_POST
def step(request: MemberRequest, pk: int) -> HttpResponse:
    """Take a step on, over some, or back."""
    one = reed_for(request, pk)
    form = StepForm(one, request.POST)
    if not form.is_valid():
        if request.POST.get("step-to_stage") == one.stage:  # a double tap: it is there already
            return redirect(request.member.to("reeds:reed", one.pk))
        return page_of(request, one, "step", step=form)
    given = form.cleaned_data
    try:
        actions.move_stage(one, request.member, Stage(given["to_stage"]), given["at"], given["why"])
    except NotPossible as refusal:
        return page_of(request, one, "step", step=form, step_refusal=refusal)
    return _back_to(request, one, _("It is noted: %s.") % _(Stage(one.stage).label))


def _doubts(request: MemberRequest) -> dict[Method, float]:
    return OwnDoubt.objects.visible_to(request.member).of(request.member.studio_id)


@require_POST
def clip(request: MemberRequest, pk: int) -> HttpResponse:
    """Note one clip."""
    one, form = reed_for(request, pk), ClipForm(request.POST)
    if not form.is_valid():
        return page_of(request, one, "clip", clip=form)
    what_then, given = then(one), form.cleaned_data
    try:
        actions.clip(one, request.member, form.taken(_doubts(request)), given["at"], given["key"])
    except NotPossible as refusal:
        return page_of(request, one, "clip", clip=form, clip_refusal=refusal)
    return _back_to(request, one, " ".join([_("The clip is noted."), what_then]).strip())


@require_POST
def strokes(request: MemberRequest, pk: int) -> HttpResponse:
    """Note a few strokes that were taken, then say what to play and to look at."""
    one, form = reed_for(request, pk), StrokesForm(request.POST)
    if not form.is_valid():
        return page_of(request, one, "strokes", strokes=form)
    what_then, given = then(one), form.cleaned_data
    try:
        actions.scrape_a_little(one, request.member, form.done, given["at"], given["key"])
    except NotPossible as refusal:
        return page_of(request, one, "strokes", strokes=form, strokes_refusal=refusal)
    return _back_to(request, one, " ".join([_("The strokes are noted."), what_then]).strip())


@require_POST
def life(request: MemberRequest, pk: int) -> HttpResponse:
    """Note with one tap that it was played today; or that it went soft, or was put away."""
    one, form = reed_for(request, pk), LifeForm(request.POST)
    if not form.is_valid():
        return page_of(request, one, "life", life_form=form)
    try:
        fresh = note_life(one, request.member, form.kind, form.cleaned_data["day"])
    except NotPossible as refusal:
        return page_of(request, one, "life", life_form=form, life_refusal=refusal)
    return _back_to(request, one, _("It is noted.") if fresh else _("That is noted already."))


@require_POST
def give_up(request: MemberRequest, pk: int) -> HttpResponse:
    """Give the reed up, with a reason."""
    one, form = reed_for(request, pk), GiveUpForm(request.POST)
    if not form.is_valid():
        return page_of(request, one, "end", end=form)
    given = form.cleaned_data
    try:
        actions.move_stage(one, request.member, Stage.GIVEN_UP, given["at"], given["why"])
    except NotPossible as refusal:
        return page_of(request, one, "end", end=form, end_refusal=refusal)
    return _back_to(request, one, _("It is given up; what was learned from it stays."))


@require_POST
def take_back(request: MemberRequest, pk: int) -> HttpResponse:
    """Take back a slip of the finger: a clip, or the last step."""
    rows = ReedEvent.objects.visible_to(request.member).filter(reed__taken_out_at__isnull=True)
    event = fetch(rows.select_related("reed"), request.member, pk)
    try:
        actions.take_back(event, request.member)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
        return redirect(request.member.to("reeds:reed", event.reed_id))
    return _back_to(request, event.reed, _("Taken back."))


@require_POST
@teaching_only
def move_sheet(request: MemberRequest, pk: int) -> HttpResponse:
    """Move the reed to another measuring sheet."""
    one = reed_for(request, pk)
    form = SheetMoveForm(request.member, one, request.POST)
    if not form.is_valid():
        return page_of(request, one, "sheet", move=form)
    actions.move_pattern(one, request.member, form.cleaned_data["version"], form.cleaned_data["why"])
    return _back_to(request, one, _("The reed follows that sheet from now on."))


@require_POST
def reference(request: MemberRequest, pk: int) -> HttpResponse:
    """Name one's own good reed, with which recordings are compared; naming it again takes the name off."""
    one = reed_for(request, pk)
    if one.owner_id != request.member.pk:
        raise Http404  # which reed speaks well only its player knows
    if one.is_reference:
        actions.forget_reference(one)
        return _back_to(request, one, _("Recordings are compared with no reed from now on."))
    try:
        actions.name_reference(one)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
        return redirect(request.member.to("reeds:reed", one.pk))
    return _back_to(request, one, _("Recordings are compared with this reed from now on."))


@require_http_methods(["GET", "HEAD", "POST"])
def made_of(request: MemberRequest, pk: int) -> HttpResponse:
    """Put right what the reed is made of, and note how the wet cane feels."""
    one = reed_for(request, pk)
    form = MadeOfForm(one.owner, request.POST or None, instance=one)
    if form.is_valid():
        actions.put_right(one, request.member, form.changed_data)
        return redirect(request.member.to("reeds:reed", one.pk))
    page = {"reed": one, "form": form}
    return render(request, "reeds/timeline/made_of.html", page, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def take_out(request: MemberRequest, pk: int) -> HttpResponse:
    """Take a reed out, once it was asked whether that is meant."""
    one = reed_for(request, pk)
    if not request.member.leads and one.owner_id != request.member.pk:
        raise Http404  # no assistant takes another's reed out
    if request.method != "POST":
        return render(request, "reeds/timeline/take_out.html", {"reed": one})
    actions.take_out(one)
    messages.success(request, _("Reed %s is taken out. Its number is not used again.") % one.number)
    return redirect(request.member.to("reeds:reeds"))
