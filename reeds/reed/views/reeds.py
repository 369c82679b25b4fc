"""Reeds: the list, finding one by its number, making them, the box."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from reeds.reed.actions import make_reeds
from reeds.reed.forms.knife import KnifeForm
from reeds.reed.forms.make import MakeForm, usual
from reeds.reed.forms.reed import FindForm
from reeds.reed.listed import ANY, page_of
from reeds.reed.models.knife import Knife
from reeds.reed.models.reed import Reed
from reeds.reed.pages import blanks_of, boxes_of
from reeds.reed.thumbs import thumbs_of, with_thumbs
from reeds.sheet.actions import sheet as sheet_actions
from studio.access import MemberRequest, Seer, fetch
from studio.asked import row_numbers
from studio.errors import NotPossible
from studio.further import part_at_hand
from studio.models import Member
from studio.offline import kept_offline
from studio.prepared import prepared
from studio.roles import guardians_too


@guardians_too
@require_safe
@kept_offline
@vary_on_headers("HX-Request")
def reeds(request: MemberRequest) -> HttpResponse:
    """All reeds one may see, newest first; a number typed goes to the reed, or shows all that have it."""
    form = FindForm(request.member, request.GET)
    chosen = form.chosen if form.is_valid() else ANY
    page = page_of(request.member, chosen, request.GET.get("page"))
    by_number = chosen is not ANY and chosen[0] is not None and not _wants_rows(request)
    if by_number and page.paginator.count == 1:
        return redirect(request.member.to("reeds:reed", page[0].pk))
    with_thumbs(request.member, page)
    template = "reeds/reed/_rows.html" if _wants_rows(request) else "reeds/reed/reeds.html"
    context = {"form": form, "page": page, "asked": _asked(request.GET)}
    context["are_several"] = request.member.teaches or request.member.is_guardian
    return render(request, template, context, status=200 if form.is_valid() else 422)


def _wants_rows(request: MemberRequest) -> bool:
    """Whether htmx swaps the rows; going back in the browser's history wants the whole page."""
    return bool(request.htmx) and not request.htmx.history_restore_request


def _asked(query: QueryDict) -> str:
    """What was asked for, without the page, for the links to the other pages."""
    kept = query.copy()
    kept.pop("page", None)
    return kept.urlencode()


def _maker(request: MemberRequest) -> Member:
    """For whom reeds are made: oneself, or whom a teacher names."""
    whom = request.GET.get("for", "")
    if not whom or whom == str(request.member.pk):
        return request.member
    if not request.member.teaches:
        raise Http404
    students = Member.objects.visible_to(request.member).students().select_related("person", "studio")
    return fetch(students, request.member, *row_numbers([whom]))


@require_http_methods(["GET", "HEAD", "POST"])
def make(request: MemberRequest) -> HttpResponse:
    """Make one reed or several at once."""
    owner = _maker(request)
    sheet_actions.ready_for(request.member)
    then = request.GET.get("then", "")
    form = MakeForm(owner, request.POST or None, initial=usual(owner), asks_stage=bool(then))
    refusal = ""
    if form.is_valid():
        try:
            return _make(request, form)
        except NotPossible as reason:
            refusal = str(reason)
    students = Member.objects.visible_to(request.member).students().select_related("person")
    page = {"form": form, "owner": owner, "refusal": refusal}
    page["students"] = students if request.member.teaches else []
    return render(request, "reeds/reed/make.html", page, status=422 if form.is_bound else 200)


def _make(request: MemberRequest, form: MakeForm) -> HttpResponse:
    one = form.reed()
    before = Reed.objects.visible_to(request.member).filter(batch=one.batch).exists()
    made = make_reeds(one, request.member, form.cleaned_data["count"], form.cleaned_data["number"])
    if before and made[0].batch == form.cleaned_data["batch"]:
        messages.info(request, _("This form was sent before; these are the reeds it made."))
    return redirect(_after_making(request, made))


def _after_making(request: MemberRequest, made: list[Reed]) -> str:
    then = request.GET.get("then")
    if then in ("send", "photo") and made[0].owner_id == request.member.pk:
        # a photo that waits in the browser goes into the draft, see static/js/send/first.js
        return request.member.to("lessons:draft", made[0].pk) + ("#with-photo" if then == "photo" else "")
    return request.member.to("reeds:made", made[0].batch)


@require_safe
def made(request: MemberRequest, batch: uuid.UUID) -> HttpResponse:
    """The numbers to write on the corks."""
    rows = Reed.objects.visible_to(request.member).filter(batch=batch).select_related("owner__person")
    reeds = list(rows.order_by("number"))
    if not reeds:
        raise Http404
    return render(request, "reeds/reed/made.html", {"reeds": reeds})


@require_safe
@kept_offline
def box(request: MemberRequest) -> HttpResponse:
    """Blanks at rest, for how long, and which are ready: a student's own, a teacher's by student."""
    member, blanks = request.member, blanks_of(request.member)
    part = part_at_hand(blanks, request.GET)
    now, knives = timezone.now(), {knife.owner_id: knife for knife in _knives(member)}
    page = {
        "boxes": boxes_of(part.rows, blanks, now, knives),
        "part": part,
        "now": now,
        "thumbs": thumbs_of(member, [blank.pk for blank in part.rows]),
        "own_knife": knives.get(member.pk),
        "knife": KnifeForm(),
    }
    return render(request, "reeds/reed/box.html", page)


@prepared
def _knives(member: Seer) -> QuerySet[Knife]:
    return Knife.objects.visible_to(member)
