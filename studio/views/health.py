"""What a watching program asks: whether we answer, and whether all is there that we need."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from studio.health import look


@login_not_required
@never_cache
@require_safe
def healthz(_request: HttpRequest) -> HttpResponse:
    """Answer: nothing else is asked, so that no trouble elsewhere has a living process ended."""
    return JsonResponse({"ok": True})


@login_not_required
@never_cache
@require_safe
def readyz(_request: HttpRequest) -> HttpResponse:
    """Say what is not as it should be."""
    health = look()
    return JsonResponse(health.as_json(), status=200 if health.is_well else 503)
