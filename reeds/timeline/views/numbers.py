"""Adding numbers to a reed, at any stage; nothing is ever changed, a newer number stands for an older one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from reeds.fields import MeasuredOnceForm
from reeds.numbers.quantity import Quantity
from reeds.reed import actions
from reeds.reed.forms.numbers import NumbersForm
from reeds.reed.models.reed import Reed
from reeds.timeline.views.rows import asked_of, reed_for
from studio.access import MemberRequest
from studio.errors import NotPossible


def _asked(request: MemberRequest, reed: Reed) -> list[Quantity]:
    """What this stage asks, then what the person picked beside it."""
    asked = asked_of(reed)
    given = request.POST if request.method == "POST" else request.GET
    picked = [*given.getlist("also"), *([given.get("another", "")] if "more" in given else [])]
    typed = {quantity.key: quantity for quantity in reed.version.sheet.known.typed}
    more = [typed[key] for key in dict.fromkeys(picked) if key in typed]
    return [*asked, *(quantity for quantity in more if quantity not in asked)]


def _page(
    request: MemberRequest, reed: Reed, form: NumbersForm, once: MeasuredOnceForm, refusal: str = ""
) -> HttpResponse:
    asked = asked_of(reed)
    page = {
        "reed": reed,
        "numbers": form,
        "once": once,
        "refusal": refusal,
        "also": [quantity.key for quantity in form.quantities if quantity not in asked],
        "others": [one for one in reed.version.sheet.known.typed if one not in form.quantities],
    }
    wrong = bool(refusal) or any(one.is_bound and not one.is_valid() for one in (form, once))
    return render(request, "reeds/timeline/numbers.html", page, status=422 if wrong else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def numbers(request: MemberRequest, pk: int) -> HttpResponse:
    """The numbers this stage asks for, and any other quantity picked beside them."""
    reed = reed_for(request, pk)
    asked = _asked(request, reed)
    if request.method != "POST":
        return _page(request, reed, NumbersForm(asked), MeasuredOnceForm())
    form, once = NumbersForm(asked, request.POST), MeasuredOnceForm(request.POST)
    if "more" in request.POST or not (form.is_valid() and once.is_valid()):
        return _page(request, reed, form, once)
    entries = form.entries()
    if not entries:
        return _page(request, reed, form, once, _("Type at least one number, or choose what you saw."))
    try:
        at = once.moment(reed.made_at)
        actions.record(reed, request.member, entries, at=at, key=once.cleaned_data["key"])
    except NotPossible as reason:
        return _page(request, reed, form, once, str(reason))
    messages.success(request, _("The numbers are kept."))
    return redirect(request.member.to("reeds:reed", reed.pk))
