"""The printed card: get one, print it, say what its bar measures."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from reeds.photo import printing as cards
from reeds.photo.actions import card as card_actions
from reeds.photo.forms.card import BarForm
from reeds.photo.models.card import PrintedCard
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible

SCREEN_DPI = 300


def _page(request: MemberRequest, form: BarForm | None = None, asked: int | None = None) -> HttpResponse:
    rows = PrintedCard.objects.visible_to(request.member).select_related("owner__person")
    listed = [
        {
            "card": card,
            "own": card.owner_id == request.member.pk,
            "form": form if card.pk == asked and form else BarForm(auto_id=f"card-{card.pk}-%s"),
            "may_note": card.may_be_noted_by(request.member),
        }
        for card in rows
    ]
    status = 422 if form else 200
    return render(request, "reeds/photo/card.html", {"listed": listed}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def card(request: MemberRequest) -> HttpResponse:
    """Show the cards one may use; sent, give one more with a number of its own."""
    if request.method != "POST":
        return _page(request)
    try:
        made = card_actions.new_card(request.member)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
        return _page(request)
    return redirect(f"{request.member.to('reeds:card')}#card-{made.pk}")


@require_POST
def bar(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep what a card's bar measures."""
    row = fetch(PrintedCard, request.member, pk)
    form = BarForm(request.POST, auto_id=f"card-{row.pk}-%s")
    if not form.is_valid():
        return _page(request, form, row.pk)
    try:
        card_actions.note_bar(row, request.member, form.cleaned_data["bar"], form.cleaned_data["method"])
    except NotPossible as refusal:
        form.add_error("bar", str(refusal))
        return _page(request, form, row.pk)
    messages.success(request, _("Kept for card %(number)s.") % {"number": row.number})
    return redirect(f"{request.member.to('reeds:card')}#card-{row.pk}")


def _words() -> cards.Words:
    instructions = tuple(_(sentence) for sentence in cards.INSTRUCTIONS)
    return cards.Words(instructions, _(cards.BAR_TEXT), _(cards.NUMBER_TEXT))


@require_safe
@cache_control(private=True, max_age=3600)
def card_file(request: MemberRequest, pk: int, kind: str) -> HttpResponse:
    """Answer with a card's true-size PDF (A6, and two on A4) or its picture."""
    row = fetch(PrintedCard, request.member, pk)
    if kind not in ("pdf", "png"):
        raise Http404
    if kind == "pdf":
        content, kept_as = cards.pdf(row.number, _words()), "application/pdf"
    else:
        content, kept_as = cards.png(row.number, SCREEN_DPI, _words()), "image/png"
    answer = HttpResponse(content, content_type=kept_as)
    answer["Content-Disposition"] = f'attachment; filename="card-{row.number}.{kind}"'
    return answer
