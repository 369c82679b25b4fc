"""What one student's instrument wants beside the sheet: the teacher sets it, the student sees it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from reeds.numbers.quantity import Known, Quantity
from reeds.sheet.actions import sheet as actions
from reeds.sheet.forms.sheet import AskedOffsetForm, OffsetsForm, all_follow, shown_offsets
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Offset, PatternVersion
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.models import Member


def _lengths(request: MemberRequest, known: Known) -> list[Quantity]:
    """The lengths on the studio's sheets in use, in the order of the registry."""
    versions = PatternVersion.objects.visible_to(request.member).current()
    on_sheets = {key for version in versions for key in version.sheet_in(known).keys}
    return [one for key, one in known.items() if key in on_sheets and one.is_length]


@require_http_methods(["GET", "HEAD", "POST"])
def offsets(request: MemberRequest, pk: int) -> HttpResponse:
    """One student's offsets."""
    student = fetch(Member.objects.visible_to(request.member).select_related("person"), request.member, pk)
    there = Offset.objects.visible_to(request.member).filter(student=student)
    rows = there.select_related("set_by__person").order_by("quantity")
    known = OwnQuantity.objects.visible_to(request.member).known()
    shown = [(known[row.quantity], row) for row in rows if row.quantity in known]
    if not request.member.leads:
        return render(request, "reeds/sheet/offsets.html", {"student": student, "offsets": shown})
    actions.ready_for(request.member)
    first = {
        **shown_offsets(there.of(student)),
        "why": next((row.why for row in rows if row.why), ""),
        "follow": all_follow(there.of(student)),
    }
    lengths = _lengths(request, known)
    asked = AskedOffsetForm(lengths, there.of(student), request.GET)
    form = OffsetsForm(lengths, request.POST or None, initial={**first, **asked.shown()})
    refusal = "" if asked.is_valid() else _("What the link asks for is no offset; nothing is filled in.")
    if form.is_valid():
        try:
            return _save(request, student, form)
        except NotPossible as reason:
            refusal = str(reason)
    page = {"student": student, "offsets": shown, "form": form, "refusal": refusal, "asked": asked.shown()}
    return render(request, "reeds/sheet/offsets.html", page, status=422 if form.is_bound else 200)


def _save(request: MemberRequest, student: Member, form: OffsetsForm) -> HttpResponse:
    if student.teaches and student.pk != request.member.pk:
        raise Http404
    actions.set_offsets(student, request.member, form.deltas(), form.cleaned_data["why"])
    messages.success(request, _("Kept. The checks of this player's reeds go by it from now on."))
    return redirect(request.member.to("reeds:offsets", student.pk))
