"""Rows of a student's desk, as strings: it may show fifty."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from django import template
from django.template import Context
from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import Truncator
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.lesson.pages.desk import Round, Said, Work
from reeds.reed.models.reed import STAGE_CHOICES
from reeds.reed.pages import Blank
from reeds.templatetags.quantities import lasting
from reeds.templatetags.thumbs import thumb
from studio.markup import NOTHING
from studio.templatetags.here import ago

register = template.Library()

Thumbs = Mapping[int, int]
STAGES = dict(STAGE_CHOICES)
CORK = '<span class="cork">{}</span>\n'
PLAIN = "<span>{}</span>\n"
STRONG = "<span><strong>{}</strong>{}</span>\n"
QUIET = '<span class="quiet">{}</span>\n'
ROW = '<li><a class="row-link" href="{}">\n{}</a></li>\n'
ANSWERED = '<li><a class="row-link desk-row" href="{}">\n{}</a></li>\n'
WORK = '<li><a class="alone" href="{}">{}</a>\n{}</li>\n'
LATE = '<span class="late">{}:\n{}</span>\n'
READY = """<li><a href="{}"><span class="cork cork-large">{}</span>
  <span>{}</span>{}</a></li>
"""


@register.simple_tag(takes_context=True)
def rows_answered(context: Context, rounds: Iterable[Round], *, is_new: bool = False) -> SafeString:
    """Show rounds that were answered; of one not read yet the next step too."""
    member, said, thumbs = context["request"].member, context["desk"].said, context["thumbs"]
    rows = []
    for row in rounds:
        told = [_answer(one, is_new=is_new) for one in said.get(row.pk, ())]
        later = _("round %(n)s") % {"n": row.round} + " · " if row.round > 1 else ""
        when = format_html(QUIET, later + (ago(row.answered_at) if row.answered_at else ""))
        parts = (format_html(CORK, row.number), *told, thumb(member, thumbs.get(row.reed)), when)
        rows.append((member.to("lessons:round", row.pk), _joined(parts)))
    return format_html_join("", ANSWERED, rows)


def _answer(said: Said, *, is_new: bool) -> SafeString:
    if not is_new:
        return format_html(PLAIN, said.decision)
    step = Truncator(said.next_step).chars(90)
    return format_html(STRONG, said.decision, f":\n{step}" if step else "")


@register.simple_tag(takes_context=True)
def rows_begun(context: Context, rounds: Iterable[Round]) -> SafeString:
    """Show rounds that are begun and not sent."""
    member, thumbs = context["request"].member, context["thumbs"]
    rows = []
    for row in rounds:
        photos = ngettext("%(n)s photo", "%(n)s photos", row.photos) % {"n": row.photos}
        parts = (
            format_html(CORK, row.number),
            format_html(PLAIN, STAGES[row.stage]),
            _later(row),
            format_html(QUIET, photos) if row.photos else NOTHING,
            thumb(member, thumbs.get(row.reed)),
        )
        rows.append((member.to("lessons:draft", row.reed), _joined(parts)))
    return format_html_join("", ROW, rows)


@register.simple_tag(takes_context=True)
def rows_waiting(context: Context, rounds: Iterable[Round]) -> SafeString:
    """Show rounds that wait for an answer."""
    member, thumbs = context["request"].member, context["thumbs"]
    rows = []
    for row in rounds:
        sent = _("sent %(when)s") % {"when": ago(row.sent_at) if row.sent_at else ""}
        small = thumb(member, thumbs.get(row.reed))
        parts = (format_html(CORK, row.number), _later(row), format_html(PLAIN, sent), small)
        rows.append((member.to("lessons:round", row.pk), _joined(parts)))
    return format_html_join("", ROW, rows)


@register.simple_tag(takes_context=True)
def rows_ready(context: Context, blanks: Iterable[Blank], now: dt.datetime) -> SafeString:
    """Show blanks that rested enough."""
    member, thumbs = context["request"].member, context["thumbs"]
    rows = (
        (
            member.to("reeds:reed", blank.pk),
            blank.number,
            lasting(now - blank.since),
            thumb(member, thumbs.get(blank.pk)),
        )
        for blank in blanks
    )
    return format_html_join("", READY, rows)


@register.simple_tag(takes_context=True)
def rows_of_work(context: Context, work: Iterable[Work]) -> SafeString:
    """Show what is to be made, and until when."""
    member, today = context["request"].member, context["today"]
    rows = ((member.to("lessons:work", one.pk), one.words, _until(one, today)) for one in work)
    return format_html_join("", WORK, rows)


def _until(one: Work, today: dt.date) -> SafeString:
    if one.due_on is None:
        return NOTHING
    until = _("until %(day)s") % {"day": date_format(one.due_on, "DAY")}
    if one.due_on >= today:
        return format_html(QUIET, until)
    return format_html(LATE, until, _("that day is over"))


def _later(row: Round) -> SafeString:
    """Say which round it is, where there were others."""
    return format_html(QUIET, _("round %(n)s") % {"n": row.round}) if row.round > 1 else NOTHING


def _joined(parts: Iterable[SafeString]) -> SafeString:
    return mark_safe("".join(parts))  # noqa: S308  # each is escaped
