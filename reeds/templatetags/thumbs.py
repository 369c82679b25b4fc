"""The small photo beside a reed's number, wherever reeds are listed."""

from __future__ import annotations

from typing import Protocol

from django import template
from django.template import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

from studio.markup import NOTHING
from studio.models import Member

register = template.Library()

# the square is there before the photo is, so nothing jumps
THUMB = (
    '<img class="thumb-of" src="{}" alt="" width="56" height="56"\n       loading="lazy" decoding="async">\n'
)


class Listed(Protocol):
    """A reed with the key of its newest photo, as `with_thumbs` gives it."""

    thumb: int | None


@register.simple_tag(takes_context=True)
def thumb_of(context: Context, reed: Listed) -> SafeString:
    """Show the newest photo of a reed that `with_thumbs` gave it, if there is one."""
    return thumb(context["request"].member, reed.thumb)


def thumb(member: Member, photo: int | None) -> SafeString:
    """Return the small photo of that key, nothing for none."""
    return format_html(THUMB, member.to("reeds:photo", photo, "thumbnail")) if photo else NOTHING
