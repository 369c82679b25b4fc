"""Rows of the list of reeds, as strings: a page shows forty."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Protocol

from django import template
from django.template import Context
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from reeds.templatetags.quantities import made
from reeds.templatetags.thumbs import thumb
from studio.markup import NOTHING

register = template.Library()

ROW = """<li><a class="row-link" href="{}">
  <span class="cork">{}</span>
  {}<strong>{}</strong>
  <span class="quiet">{} · {}{}</span>
  {}</a></li>
"""
WHO = "<span>{}</span>\n"


class Listed(Protocol):
    """A reed of `ReedQuerySet.listed`, with its thumb."""

    pk: int
    number: int
    owner: object
    pattern: str
    made_at: dt.datetime
    is_model: bool
    thumb: int | None

    def get_stage_display(self) -> str: ...


@register.simple_tag(takes_context=True)
def rows_of_reeds(context: Context, reeds: Iterable[Listed]) -> SafeString:
    """Show reeds; whose each is where they are of several."""
    member, are_several = context["request"].member, context["are_several"]
    model = " · " + _("model")
    rows = (
        (
            member.to("reeds:reed", reed.pk),
            reed.number,
            format_html(WHO, reed.owner) if are_several else NOTHING,
            reed.get_stage_display(),
            reed.pattern,
            made(reed.made_at),
            model if reed.is_model else "",
            thumb(member, reed.thumb),
        )
        for reed in reeds
    )
    return format_html_join("", ROW, rows)
