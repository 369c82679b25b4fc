"""Links that work once: found by their token, given as an address and as a QR code."""

from __future__ import annotations

from typing import TypeVar

from django.conf import settings
from django.http import HttpRequest
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from studio.models import Invitation, Link, LinkState, SignInLink

AnyLink = TypeVar("AnyLink", Invitation, SignInLink)


def find(kind: type[AnyLink], token: str) -> AnyLink | None:
    """Return what the link was made for, open or not; None for a forged one."""
    found: AnyLink | None = kind.objects.by_token(token)
    return found


def address(link: Invitation | SignInLink, request: HttpRequest | None = None) -> str:
    """Return the whole address: of the site as the asking person sees it, or else as the settings name it."""
    path = link.get_absolute_url()
    return request.build_absolute_uri(path) if request else settings.SITE_ADDRESS.rstrip("/") + path


def qr(text: str) -> SafeString:
    """Return a QR code as SVG without style attributes, dark on white in every colour scheme."""
    import segno  # slow to import, and few pages have a code to photograph

    code = segno.make(text, error="m", micro=False)
    svg = code.svg_inline(omitsize=True, svgclass="qr", lineclass=None, dark="#000", light="#fff")
    return mark_safe(svg)  # noqa: S308  # segno draws squares; the text is not in it


def why_closed(link: Link | None) -> str:
    """Return one sentence for somebody who came with a link that does not work."""
    if link is None:
        return _("This link is not complete. Copy the whole of it, or ask for a new one.")
    sentences = {
        LinkState.USED: _("This link has been used already: each one works once. Ask for a new one."),
        LinkState.REVOKED: _("This link has been taken back. Ask the person who gave it to you."),
        LinkState.EXPIRED: _("This link is too old. Ask for a new one."),
    }
    return sentences.get(link.state, _("This link does not work any more. Ask for a new one."))
