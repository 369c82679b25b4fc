"""What all pages use: addresses of the studio one is in, `{% here 'reeds:reed' reed.pk %}`, keys, scripts."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from django import template
from django.template import Context
from django.templatetags.static import static
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.timesince import timesince
from django.utils.translation import gettext as _
from django.utils.translation import npgettext_lazy

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
def modules(*names: str) -> SafeString:
    """Load scripts of ours, and ask at once for all that they import, where they do not hold it already."""
    ahead = [] if is_hashed() else [(static(name),) for name in imported_by(*names)]
    links = format_html_join("\n", '<link rel="modulepreload" href="{}">', ahead)
    scripts = ((static(name),) for name in names)
    return links + format_html_join("\n", '<script type="module" src="{}"></script>', scripts)


@register.inclusion_tag("_bar_link.html", takes_context=True)
def page_link(
    context: Context, name: str, drawing: str, words: str, short: str, unread: int | None = None
) -> dict[str, object]:
    """Show a link of the bar; the one that leads to where one is, or to a page above it, is marked.

    A phone shows the drawing and the short words; the link is called by `words` on either. `unread` is said
    beside them; it is None on links that never say how much is unread.
    """
    address = str(context["request"].member.to(name))
    is_here = context["request"].path.startswith(address)
    told = {"address": address, "is_here": is_here, "words": words, "short": short, "unread": unread}
    return told | {"drawing": f"places/{drawing}.svg"}
