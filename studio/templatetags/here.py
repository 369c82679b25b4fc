"""What all pages use: addresses of the studio one is in, `{% here 'reeds:reed' reed.pk %}`, keys, scripts."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from django import template
from django.conf import settings
from django.template import Context
from django.template.loader import get_template
from django.templatetags.static import static
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.timesince import timesince
from django.utils.translation import get_language, npgettext_lazy
from django.utils.translation import gettext as _

from studio.modules import imported_by
from studio.once import FIELD
from studio.shell import is_hashed

register = template.Library()

# German has another ending after "ago" than where it counts alone, as Django's own words do
AGO: dict[str, Any] = {
    "year": npgettext_lazy("ago", "%(num)d year", "%(num)d years", "num"),
    "month": npgettext_lazy("ago", "%(num)d month", "%(num)d months", "num"),
    "week": npgettext_lazy("ago", "%(num)d week", "%(num)d weeks", "num"),
    "day": npgettext_lazy("ago", "%(num)d day", "%(num)d days", "num"),
    "hour": npgettext_lazy("ago", "%(num)d hour", "%(num)d hours", "num"),
    "minute": npgettext_lazy("ago", "%(num)d minute", "%(num)d minutes", "num"),
}


@register.simple_tag(takes_context=True)
def here(context: Context, name: str, *args: Any) -> str:  # noqa: ANN401  # as {% url %} takes them
    """Return the address of a page of the asking member's studio."""
    return str(context["request"].member.to(name, *args))


@register.simple_tag
def once() -> SafeString:
    """Give a form that makes something a key: sent twice it makes one, see studio/once.py."""
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, uuid.uuid4())


def roughly(since: datetime) -> str:
    """Return how long ago in one unit, to stand beside 'ago': '2 days'."""
    return timesince(since, depth=1, time_strings=AGO)


@register.filter
def ago(moment: datetime) -> str:
    """Say how long ago it was, in one round number."""
    if timezone.now() - moment < timedelta(minutes=1):
        return _("just now")
    return _("%(since)s ago") % {"since": roughly(moment)}


@register.simple_tag
def alike(name: str) -> SafeString:
    """Show a template that says the same on every page of a language: it is rendered once for each."""
    rendered = _rendered.__wrapped__ if settings.DEBUG else _rendered
    return rendered(name, get_language())


@cache
def _rendered(name: str, _language: str | None) -> SafeString:
    return get_template(name).render()  # type: ignore[return-value]  # Django's templates are safe strings


@register.simple_tag
@cache
def modules(*names: str) -> SafeString:
    """Load scripts of ours, and ask at once for all that they import, where they do not hold it already."""
    ahead = [] if is_hashed() else [(static(name),) for name in imported_by(*names)]
    links = format_html_join("\n", '<link rel="modulepreload" href="{}">', ahead)
    scripts = ((static(name),) for name in names)
    return links + format_html_join("\n", '<script type="module" src="{}"></script>', scripts)


BAR_LINK = """<li><a href="{}"{}>
  {}<span class="bar-words">{}</span> <span class="bar-short" aria-hidden="true">{}</span>{}</a></li>
"""
IS_HERE = mark_safe(' aria-current="page"')
COUNT = """
  <span class="count" data-unread{}><span>{}</span> <span class="unseen">{}</span></span>"""


@register.simple_tag(takes_context=True)
def page_link(
    context: Context, name: str, drawing: str, words: str, short: str, unread: int | None = None
) -> SafeString:
    """Show a link of the bar; the one that leads to where one is, or to a page above it, is marked.

    A phone shows the drawing and the short words; the link is called by `words` on either. `unread` is said
    beside them; it is None on links that never say how much is unread.
    """
    address = str(context["request"].member.to(name))
    is_here = IS_HERE if context["request"].path.startswith(address) else ""
    count = "" if unread is None else _count(unread)
    return format_html(BAR_LINK, address, is_here, alike(f"places/{drawing}.svg"), words, short, count)


def _count(unread: int) -> SafeString:
    return format_html(COUNT, "" if unread else mark_safe(" hidden"), unread, _("not read yet"))
