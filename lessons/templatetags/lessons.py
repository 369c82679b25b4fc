"""Rows of lessons and of set work, as strings: a page shows seventy-five."""

from __future__ import annotations

from collections.abc import Iterable

from django import template
from django.template import Context
from django.utils.formats import localize
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from lessons.lesson.models import Lesson, SetWork
from studio.markup import NOTHING

register = template.Library()

LESSON = '<li><a class="row-link" href="{}">{}\n{}</a></li>\n'
WORK = '<li><a class="row-link" href="{}">{}{}\n<span class="quiet">{}</span></a></li>\n'
NAMES = '<span class="quiet">{}</span>'
WHO = "<strong>{}</strong> "


@register.simple_tag(takes_context=True)
def rows_of_lessons(context: Context, lessons: Iterable[Lesson]) -> SafeString:
    """Show when lessons are or were, and who was there where that is told."""
    member = context["request"].member
    rows = (
        (
            member.to("lessons:lesson", one.pk),
            one.when,
            format_html(NAMES, ", ".join(one.names)) if one.names else NOTHING,
        )
        for one in lessons
    )
    return format_html_join("", LESSON, rows)


@register.simple_tag(takes_context=True)
def rows_of_open_work(context: Context, work: Iterable[SetWork]) -> SafeString:
    """Show work that is not done: how much came of it, until when, and whose it is to whoever teaches."""
    member = context["request"].member
    rows = (
        (
            member.to("lessons:work", one.pk),
            format_html(WHO, one.student) if member.teaches else NOTHING,
            one.words,
            ", ".join(_how_far(one)),
        )
        for one in work
    )
    return format_html_join("", WORK, rows)


def _how_far(one: SetWork) -> list[str]:
    made: int = one.made  # type: ignore[attr-defined]  # of a row of `open_work_of`
    told = [_("%(made)s of %(count)s") % {"made": made, "count": one.count}]
    if one.due_on is not None:
        day = {"day": localize(one.due_on)}
        told.append(_("was due %(day)s") % day if one.is_late else _("until %(day)s") % day)
    return told
