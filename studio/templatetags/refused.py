"""The list of what a form refuses, at its top: `{% refused form %}`."""

from __future__ import annotations

from django import template
from django.forms import BoundField
from django.utils.html import format_html

from studio.refused import Given, wrong_in

register = template.Library()


@register.filter
def as_wrong(field: BoundField) -> str:
    """Return what an input or fieldset that a template writes itself says where its field is refused."""
    if not field.errors:
        return ""
    return format_html('aria-invalid="true" aria-describedby="{}_error"', field.auto_id)


@register.inclusion_tag("_refused.html")
def refused(*given: Given, sentence: object = "") -> dict[str, object]:
    """Show what forms refuse, under a `sentence` where there is one; nothing where nothing is wrong.

    The browser's focus moves there: with the page that a form answers with, and by htmx with what it swaps.
    """
    return {"wrong": wrong_in(given), "sentence": sentence}
