"""The journal: a teacher reads that of the studio, everybody else what it says of them."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from studio.access import MemberRequest
from studio.journal import KEPT, JournalEntry
from studio.journal_filter import JournalFilter
from studio.roles import guardians_too

PER_PAGE = 50


@guardians_too
@require_safe
def journal(request: MemberRequest) -> HttpResponse:
    """What happened, the newest first; narrowed by what, by whom and by days."""
    chosen = JournalFilter(request.member, request.GET or None)
    rows = JournalEntry.objects.visible_to(request.member).select_related("by__person", "whose__person")
    page = Paginator(chosen.narrow(rows), PER_PAGE).get_page(request.GET.get("page"))
    shown = {"page": page, "chosen": chosen, "kept_days": KEPT.days}
    return render(request, "studio/journal.html", shown)
