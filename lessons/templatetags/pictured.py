"""Parts of a term's pictures of which there are many alike: each is written by one tag."""

from __future__ import annotations

from collections.abc import Iterable

from django import template
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import ngettext

from lessons.templatetags.figures import called_plainly
from lessons.term.charts.frame import DayTick
from lessons.term.charts.strip import Strip, StripRow
from lessons.term.wording import written
from reeds.numbers.quantity import Known

register = template.Library()

ROW = """
  <li>
    <span>{} <span class="quiet">· {}</span></span>
    <svg class="drawn" viewBox="0 0 {} {}" role="img" aria-label="{} {}">
      <path class="track" d="M{} 9H{}"/>
      <path class="sent" d="{}"/>{}
      <path class="first" d="{}"/>
    </svg>
  </li>"""
AGAIN = '\n      <path class="again" d="{}"/>'
DAY = """
  <path class="tick" d="M{} {}m0-24v5"/>
  <text x="{}" y="{}" dy="-6">{}</text>"""


@register.simple_tag
def rows_of_strip(strip: Strip, rows: Iterable[StripRow], known: Known) -> SafeString:
    """Draw some rows of a strip: what was found, on how many reeds, and on which days."""
    track = (strip.left, strip.right, strip.sent)
    drawn = (
        (
            called_plainly(row, known),
            ngettext("%(n)s reed", "%(n)s reeds", row.reeds) % {"n": row.reeds},
            *(strip.width, strip.height, *_found_on(row), *track),
            format_html(AGAIN, row.again) if row.again else "",
            row.first,
        )
        for row in rows
    )
    return format_html('<ul class="strip">{}\n</ul>', format_html_join("", ROW, drawn))


def _found_on(row: StripRow) -> tuple[str, str]:
    """In words: on how many days, and on which."""
    n = len(row.marks)
    days = (written(timezone.localtime(mark.at).date(), "SHORT_DAY") for mark in row.marks)
    return ngettext("found on %(n)s day:", "found on %(n)s days:", n) % {"n": n}, ", ".join(days)


@register.simple_tag
def days_under(ticks: Iterable[DayTick], height: float) -> SafeString:
    """Mark days under a picture so high."""
    return format_html_join(
        "", DAY, ((one.at, height, one.at, height, written(one.day, one.form)) for one in ticks)
    )
