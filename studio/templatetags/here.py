"""Addresses of the studio one is in: `{% here 'reeds:reed' reed.pk %}`."""

from __future__ import annotations

from typing import Any

from django import template
from django.template import Context

register = template.Library()


@register.simple_tag(takes_context=True)
def here(context: Context, name: str, *args: Any) -> str:  # noqa: ANN401  # as {% url %} takes them
    """Return the address of a page of the asking member's studio."""
    return str(context["request"].member.to(name, *args))
