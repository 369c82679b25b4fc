"""Rows of a box, as strings: a page shows fifty."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Protocol

from django import template
from django.template import Context
from django.utils import timezone
from django.utils.formats import date_format, time_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from reeds.numbers.words import Stage
from reeds.templatetags.quantities import lasting
from reeds.templatetags.thumbs import thumb
from reeds.wording import choices_of
from studio.markup import NOTHING
from studio.models import Member

register = template.Library()

STAGES = dict(choices_of(list(Stage)))
ROW = """<li><a class="row-link" href="{}">
  <span class="cork">{}</span> <span>{}</span>
  <strong>{}</strong>
  {}{}{}</a></li>
"""
READY = '<span class="tag tag-ready">{}</span>'
NOT_YET = '<span class="quiet">{}</span>'
CANE = ' <span class="quiet">{}</span>'


class Blank(Protocol):
    """A blank of a box, see reeds/reed/pages.py."""

    @property
    def pk(self) -> int: ...
    @property
    def number(self) -> int: ...
    @property
    def stage(self) -> str: ...
    @property
    def since(self) -> dt.datetime: ...
    @property
    def cane(self) -> str: ...
    @property
    def ready_at(self) -> dt.datetime: ...


@register.simple_tag(takes_context=True)
def rows_of_box(
    context: Context, blanks: Iterable[Blank], now: dt.datetime, thumbs: Mapping[int, int]
) -> SafeString:
    """Show blanks, each with how long it rested and from when it is ready."""
    member = context["request"].member
    rows = ((_row(member, blank, now, thumbs.get(blank.pk)),) for blank in blanks)
    return format_html_join("", "{}", rows)


def _row(member: Member, blank: Blank, now: dt.datetime, photo: int | None) -> SafeString:
    rested = _("rested %(time)s") % {"time": lasting(now - blank.since)}
    if blank.ready_at <= now:
        ready = format_html(READY, pgettext("a blank", "ready"))
    else:
        at = timezone.localtime(blank.ready_at)
        when = {"day": date_format(at, "DATE_FORMAT"), "time": time_format(at, "TIME_FORMAT")}
        ready = format_html(NOT_YET, _("ready from %(day)s, %(time)s") % when)
    return format_html(
        ROW,
        member.to("reeds:reed", blank.pk),
        blank.number,
        STAGES[blank.stage],
        rested,
        ready,
        format_html(CANE, blank.cane) if blank.cane else NOTHING,
        thumb(member, photo),
    )
