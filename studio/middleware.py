"""Who is asking: pages of a studio carry its id, and the person must be a member of it."""

from __future__ import annotations

import contextlib
import re
import secrets
import zoneinfo
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.db import OperationalError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from studio.asked import LONGEST_NUMBER
from studio.asking import asking_as
from studio.logs import REQUEST
from studio.roles import is_closed_to
from studio.second_step import lacks_second_step, led_to_set_up
from studio.sessions import note_use
from studio.trouble import told

# what a page may ask the browser for: the camera for photos, the microphone for recordings, nothing else
PERMISSIONS = (
    "camera=(self), microphone=(self), geolocation=(), payment=(), "
    "usb=(), serial=(), midi=(), display-capture=()"
)

# of a whole request: what fields and boundaries add to the largest file that any page takes, 25 MB
MOST_BYTES = 27 * 1024 * 1024
# who never signed in sends a name and a password
MOST_BYTES_OF_STRANGERS = 64 * 1024
BLOCK_BYTES = 64 * 1024
# 403, by which the scripts of a page know that what they send waits until one has signed in again
SIGNED_OUT = _("You are signed out, and this is more than a stranger may send. Sign in, then send it again.")
TOO_LARGE = _("This is more than the server takes at once: 25 MB for a file.")


NUMBERED = re.compile(r"[\w-]{8,64}", re.ASCII)


def identified(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Give the request a number, for its lines in the log and its answer; a proxy of ours may have one."""

    def answer(request: HttpRequest) -> HttpResponse:
        given = request.headers.get("X-Request-ID", "") if settings.PROXIES else ""
        number = given if NUMBERED.fullmatch(given) else secrets.token_hex(6)
        REQUEST.set(number)  # until its end: what Django says of an answer is said after we gave it
        response = get_response(request)
        response.headers["X-Request-ID"] = number
        return response

    return answer


def bounded(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Refuse what is too large by its header, before any of it is read or written to the disk."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.method == "TRACE":  # it would have a script read back what it may not see
            return HttpResponseNotAllowed(["GET", "HEAD", "POST"])
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not length.isdecimal() or len(length) > LONGEST_NUMBER or int(length) > MOST_BYTES:
            return _refused(TOO_LARGE, 413)
        try:
            if _may_send(request, int(length)):
                return get_response(request)
        except OperationalError as error:  # who it is could not be asked: a page's own trouble ends within
            return told(error)
        _let_pass(request)
        return _refused(SIGNED_OUT, 403)

    return answer


def _let_pass(request: HttpRequest) -> None:
    """Read what a proxy of ours hands on and keep nothing of it: one that cannot say it all hears no answer.

    It has all of it by then, so nobody keeps us waiting by sending slowly.
    """
    if settings.PROXIES:
        with contextlib.suppress(OSError):
            while request.read(BLOCK_BYTES):
                pass


def _may_send(request: HttpRequest, length: int) -> bool:
    """Whether so many bytes are read; for what no stranger sends, whether the session is somebody's."""
    if length <= MOST_BYTES_OF_STRANGERS:
        return True
    return SESSION_KEY in request.session


def _refused(why: Promise, status: int) -> HttpResponse:
    return HttpResponse(why, status=status, content_type="text/plain; charset=utf-8")


# pages with codes and keys: not even the browser that showed them keeps these
SHOWING_SECRETS = "/account/second-step/"
SIGNING_OUT = "/account/logout/"


def private_by_default(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Have no cache between us and the reader keep a page, unless its view says otherwise."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        shows_secrets = request.path_info.startswith(SHOWING_SECRETS)
        kept = "private, no-store" if shows_secrets else "private, no-cache"
        response.headers.setdefault("Cache-Control", kept)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        if request.path_info == SIGNING_OUT and request.method == "POST":
            response.headers["Clear-Site-Data"] = '"cache"'  # pages one saw; sign_out.js deletes the rest
        return response

    return answer


WATCHED = ("/healthz", "/readyz")


def asks_for_nobody(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Have the pages of a watching program look up no session: they answer without a database too."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.path_info in WATCHED:
            request.COOKIES = {}
        return get_response(request)

    return answer


class MemberMiddleware:
    """Turns the `studio` part of an address into `request.member`, or answers 404 to everybody else."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.member = None  # type: ignore[attr-defined]  # MemberRequest says so from here on
        try:
            return self.get_response(request)
        finally:
            timezone.deactivate()

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: tuple[Any, ...],
        kwargs: dict[str, Any],
    ) -> HttpResponse | None:
        studio_id = kwargs.pop("studio", None)
        if studio_id is None or not request.user.is_authenticated:
            return None
        member = asking_as(request.user, studio_id)
        if member is None or is_closed_to(view, member):
            raise Http404
        request.member = member  # type: ignore[attr-defined]
        timezone.activate(zoneinfo.ZoneInfo(member.studio.time_zone))
        note_use(request)
        return led_to_set_up(request) if lacks_second_step(member) else None
