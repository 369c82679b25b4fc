"""Rows of a studio's people, as strings: a page shows a hundred."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from django import template
from django.template import Context
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from studio.models import Member, Role

register = template.Library()

# only who leads is led to more of them
LED = '<li><a class="row-link" href="{}">\n{}</a></li>\n'
ALONE = '<li><div class="row-link">\n{}</div></li>\n'
WHO = '<span class="who">{}</span>\n'
SMALL = '<span class="quiet small">{}</span>\n'
TAG = '<span class="tag">{}</span>\n'
LOOK = '<span class="tag tag-look">{}</span>\n'


@register.simple_tag(takes_context=True)
def rows_of_people(context: Context, people: Iterable[Member]) -> SafeString:
    """Show members of a studio, each with what is to be known of them."""
    asking: Member = context["request"].member
    children: Mapping[int, list[str]] = context["children"]
    rows = ((one, format_html_join("", "{}", _parts(one, asking, children))) for one in people)
    if not asking.leads:
        return format_html_join("", ALONE, ((told,) for _one, told in rows))
    return format_html_join("", LED, ((asking.to("member", one.pk), told) for one, told in rows))


def _parts(one: Member, asking: Member, children: Mapping[int, list[str]]) -> Iterator[tuple[SafeString]]:
    yield (format_html(WHO, one),)
    if one.pk == asking.pk:
        yield (format_html(SMALL, _("you")),)
    if one.role == Role.ASSISTANT:
        yield (format_html(TAG, one.get_role_display()),)
    if one.is_student:
        yield from _of_a_student(one)
    if one.asks_to_be_erased:
        yield (format_html(LOOK, _("asks to be erased")),)
    if one.is_student and one.may_act:
        yield (format_html(TAG, _("may scrape and clip")),)
    yield (format_html(SMALL, _besides(one, children)),)


def _of_a_student(one: Member) -> Iterator[tuple[SafeString]]:
    """Say what is to be known of a child."""
    if not one.under_age:
        return
    yield (format_html(TAG, _("under age")),)
    if one.hidden_since:
        yield (format_html(LOOK, _("consent taken back: no photos")),)
    elif not one.has_consent:
        yield (format_html(LOOK, _("no consent yet: no photos")),)


def _besides(one: Member, children: Mapping[int, list[str]]) -> str:
    if one.left_at:
        return _("left %(day)s") % {"day": date_format(timezone.localtime(one.left_at))}
    return ", ".join(children[one.pk]) if one.is_guardian else one.person.username
