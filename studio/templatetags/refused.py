"""The list of what a form refuses, at its top: `{% refused form %}`."""

from __future__ import annotations

from django import template
from django.forms import BoundField
from django.template.loader import render_to_string
from django.utils.html import format_html

from studio.refused import Given, wrong_in

register = template.Library()


@register.filter
def as_wrong(field: BoundField) -> str:
    """Return what an input or fieldset that a template writes itself says where its field is refused."""
    if not field.errors:
        return ""
    return format_html('aria-invalid="true" aria-describedby="{}_error"', field.auto_id)


@register.simple_tag
def refused(*given: Given, sentence: object = "") -> str:
    """Show what forms refuse, under a `sentence` where there is one; nothing where nothing is wrong.

    The browser's focus moves there: with the page that a form answers with, and by htmx with what it swaps.
    """
    wrong = wrong_in(given)
    if not wrong and not sentence:
        return ""
    return render_to_string("_refused.html", {"wrong": wrong, "sentence": sentence})
