"""What a page says to the browser that keeps it: whose it is, and in which colours its frame is drawn."""

from __future__ import annotations

from django import template
from django.template import Context

from studio import offline
from studio.tokens import colours

register = template.Library()


@register.simple_tag
def colour(name: str, when: str = "day") -> str:
    """Return a colour of tokens.css, 'day' or 'night'."""
    return colours(when == "night")[name]


@register.simple_tag(takes_context=True)
def made_for(context: Context) -> str:
    """Return the name under which pages of whoever looks are kept; none where nobody asked who it is."""
    request = context.get("request")
    return offline.name_of(request) if request and hasattr(request, "user") else ""


@register.filter
def keeps_offline(member: object) -> bool:
    """Whether this member's phone keeps pages."""
    return offline.keeps_offline(member)  # type: ignore[arg-type]  # a filter is given whatever stands there
