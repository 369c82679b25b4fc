"""How much stands unread before the asking member, for the page's title, the bar and the installed icon."""

from __future__ import annotations

from django import template
from django.template import Context

from lessons.sending import models

register = template.Library()


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
