"""How much stands unread before the asking member, for the page's title, the bar and the installed icon."""

from __future__ import annotations

from collections.abc import Iterable

from django import template
from django.template import Context
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.text import Truncator
from django.utils.translation import ngettext

from lessons.answering.pages.unread import Unread
from lessons.sending import models
from studio.markup import NOTHING
from studio.models import Member

register = template.Library()

WHO = "<strong>{}</strong>\n"
ROW = """<li><a class="row-link" href="{}#replies">
  <span class="cork">{}</span>
  {}<span>{}</span>
  <span class="quiet">{}</span></a></li>
"""


@register.simple_tag(takes_context=True)
def unread_count(context: Context) -> int:
    """Return in how many rounds an answer or a reply is unread; 0 for whoever is in no studio.

    A page that has them all says it itself, as `unread_here`.
    """
    if "unread_here" in context:
        return int(context["unread_here"])
    member = getattr(context.get("request"), "member", None)
    if member is None or member.is_guardian:
        return 0
    return models.unread_of(member)


@register.simple_tag(takes_context=True)
def unread_elsewhere(context: Context) -> int:
    """Return how much is unread in the other studios of who asks; mostly there is none to ask."""
    member = getattr(context.get("request"), "member", None)
    if member is None or not getattr(member, "in_several", False):
        return 0
    return models.unread_elsewhere(member)


@register.simple_tag(takes_context=True)
def rows_of_unread(context: Context, rows: Iterable[Unread]) -> SafeString:
    """Show under which rounds something was said back; a teacher reads whose each is."""
    member = context["request"].member
    return format_html_join("", ROW, (_told(member, one) for one in rows))


def _told(member: Member, one: Unread) -> tuple[str, int, SafeString, str, str]:
    n = len(one.replies)
    who = format_html(WHO, one.who) if member.teaches else NOTHING
    count = ngettext("%(n)s reply", "%(n)s replies", n) % {"n": n}
    return member.to("lessons:round", one.pk), one.number, who, count, Truncator(one.words).chars(80)
