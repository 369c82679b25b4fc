"""Rows of the queue, as strings: each has a dozen parts, and a page has twenty-five."""

from __future__ import annotations

from collections.abc import Iterable

from django import template
from django.http import QueryDict
from django.template import Context
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import Truncator
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.answering.pages.queue import Having, Line
from studio.markup import NOTHING
from studio.models import Member

register = template.Library()

ROW = """<li>
  <label class="queue-choose">
    <input type="checkbox" name="reed" value="{}" form="several" data-choose>
    <span class="unseen">{}</span>
  </label>
  <a class="queue-row" href="{}{}" data-row data-claim="{}"{}>
    <span class="cork cork-row">{}</span>
    <span class="queue-picture">{}</span>
    <span class="queue-who"><strong>{}</strong> <span class="quiet">{}</span></span>
    <span class="queue-why">{}
      {}</span>
    <span class="queue-having">{}</span>
  </a>
  {}
</li>
"""
MINE = mark_safe(" data-mine")
PICTURE = '<img src="{}" alt="" loading="lazy">'
HIDDEN = '<span class="small quiet">{}</span>'
QUESTION = '<span class="queue-question">{}</span>'
HAVING = '<span class="tag">{}</span>\n'
BATCH = '<a class="queue-batch small" href="{}?{}">{}</a>'


@register.simple_tag(takes_context=True)
def rows_of_queue(context: Context, lines: Iterable[Line], query: str) -> SafeString:
    """Show reeds that wait; `query` keeps what was chosen on the way to the next one."""
    request = context["request"]
    rows = (_row(request.member, line, query, request.GET) for line in lines)
    return format_html_join("", ROW, rows)


def _row(member: Member, line: Line, query: str, asked: QueryDict) -> tuple[object, ...]:
    question = line.round.question
    return (
        line.key,
        line.choose,
        line.review,
        query,
        line.claim,
        MINE if line.is_mine else NOTHING,
        line.number,
        _picture(line),
        line.who,
        line.about,
        line.why,
        format_html(QUESTION, Truncator(question).chars(110)) if question else NOTHING,
        format_html_join("", HAVING, ((_has(one, member),) for one in line.having)),
        _batch(member, line, asked),
    )


def _picture(line: Line) -> SafeString:
    if line.thumb:
        return format_html(PICTURE, line.thumb)
    return format_html(HIDDEN, _("hidden")) if line.is_hidden else NOTHING


def _has(one: Having, member: Member) -> str:
    return _("I have this one") if one.pk == member.pk else _("%(who)s has this one") % {"who": one.name}


def _batch(member: Member, line: Line, asked: QueryDict) -> SafeString:
    """Lead to the reeds of its batch, this one first; what the queue is narrowed by goes along."""
    if not line.batch:
        return NOTHING
    query = asked.copy()
    for name in ("skipped", "page"):
        query.pop(name, None)
    query.setlist("reed", [str(pk) for pk in line.batch])
    n = len(line.batch) - 1
    words = ngettext("with %(n)s more of its batch", "with %(n)s more of its batch", n) % {"n": n}
    return format_html(BATCH, member.to("lessons:together"), query.urlencode(), words)
