"""What the worker of a student's phone asks: which of their pages to keep for rooms without a signal."""

from __future__ import annotations

from django.http import HttpResponse, JsonResponse
from django.views.decorators.http import require_safe

from lessons.lesson.pages.kept import to_keep as addresses_to_keep
from studio.access import MemberRequest
from studio.offline import keeps_offline
from studio.roles import only_for


def _to_keep(request: MemberRequest) -> HttpResponse:
    """Name pages and pictures of one's own; nobody else's phone keeps any."""
    return JsonResponse(addresses_to_keep(request.member))


to_keep = require_safe(only_for(_to_keep, keeps_offline))
