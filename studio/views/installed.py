"""What makes the site an app on a phone: its manifest, the worker that keeps pages, the page for no line."""

from __future__ import annotations

import json

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import translation
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from studio import shell
from studio.reading import known
from studio.tokens import colours

ICONS = (("192", 192, "any"), ("512", 512, "any"), ("maskable", 512, "maskable"))


@login_not_required
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """Say what the site is called and looks like as an app; it begins where the one who opens it begins.

    A browser asks for it as nobody: the page that names it says the language.
    """
    with translation.override(_asked_for(request)):
        return JsonResponse(
            _told(), content_type="application/manifest+json", headers={"Vary": "Accept-Language"}
        )


def _asked_for(request: HttpRequest) -> str:
    return known(request.GET.get("language", "")) or get_language() or ""


def _told() -> dict[str, object]:
    begin = reverse("start")
    return {
        "id": begin,
        "name": _("Reed studio"),
        "short_name": _("Reeds"),
        "description": _("Reeds, their numbers and photos, and what the teacher says of them."),
        "lang": get_language(),
        "dir": "ltr",
        "start_url": begin,
        "scope": begin,
        "display": "standalone",
        "background_color": colours()["paper"],
        "theme_color": colours()["cane"],
        "icons": [
            {"src": static(f"icons/{name}.png"), "sizes": f"{size}x{size}", "type": "image/png"}
            | {"purpose": purpose}
            for name, size, purpose in ICONS
        ],
    }


@login_not_required
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """Give the worker, another one as soon as any static file is; it lies at the root, before all pages.

    Kept for a while it could not be mended: whatever is not marked otherwise is asked for anew, see
    `studio.middleware.private_by_default`.
    """
    told = {
        "version": shell.version(),
        "hashed": shell.is_hashed(),
        "static": settings.STATIC_URL,
        "offline": reverse("offline"),
        "language": _asked_for(request),
    }
    begin = json.dumps(static("js/worker/begin.js"))
    script = f"import {{ begin }} from {begin};\nbegin({json.dumps(told)});\n"
    return HttpResponse(script, content_type="text/javascript")


@login_not_required
@require_safe
def offline(request: HttpRequest) -> HttpResponse:
    """Say that there is no line and, by a script, which pages are kept; it is the same for everybody."""
    return render(request, "studio/offline.html")
