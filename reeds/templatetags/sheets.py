"""Rows of the list of measuring sheets, as strings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Protocol

from django import template
from django.template import Context
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from studio.markup import NOTHING
from studio.models import Member, called

register = template.Library()

ROW = """<li class="row-with-action">
  <a class="row-link" href="{}">
    <strong>{}</strong>
    <span class="quiet">{} · {} · {}</span>
  </a>
  {}
</li>
"""
PUT_AWAY = """<form method="post" action="{}">
  <input type="hidden" name="csrfmiddlewaretoken" value="{}">
  <button class="plain">{}<span class="unseen"> {}</span></button>
</form>"""
STUDENT = '<li><a class="row-link" href="{}">{}</a></li>\n'


Named = tuple[int, dt.datetime | None, str, str]


class Listed(Protocol):
    """A sheet `with_counts`."""

    pk: int
    name: str
    put_away_at: dt.datetime | None
    current_number: int
    changed_at: dt.datetime | None
    reed_count: int

    def get_style_display(self) -> str: ...


@register.simple_tag(takes_context=True)
def rows_of_sheets(context: Context, sheets: Iterable[Listed]) -> SafeString:
    """Show sheets, each with its version and how many reeds follow it; who leads can put it away."""
    member, token = context["request"].member, str(context["csrf_token"])
    return format_html_join("", ROW, (_row(member, one, token) for one in sheets))


def _row(member: Member, one: Listed, token: str) -> tuple[object, ...]:
    day = date_format(timezone.localtime(one.changed_at), "DATE_FORMAT") if one.changed_at else ""
    return (
        member.to("reeds:pattern", one.pk),
        one.name,
        one.get_style_display(),
        _("version %(n)s of %(day)s") % {"n": one.current_number, "day": day},
        ngettext("%(n)s reed", "%(n)s reeds", one.reed_count) % {"n": one.reed_count},
        _action(member, one, token) if member.leads else NOTHING,
    )


def _action(member: Member, one: Listed, token: str) -> SafeString:
    words = _("take up again") if one.put_away_at else pgettext("a sheet", "put away")
    return format_html(PUT_AWAY, member.to("reeds:pattern_put_away", one.pk), token, words, one.name)


@register.simple_tag(takes_context=True)
def rows_of_students(context: Context, students: Iterable[Named]) -> SafeString:
    """Lead to what the instrument of each of these students wants."""
    member = context["request"].member
    rows = ((member.to("reeds:offsets", row[0]), called(*row)) for row in students)
    return format_html_join("", STUDENT, rows)
