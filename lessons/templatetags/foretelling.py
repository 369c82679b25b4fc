"""How a chance is put into words: never without its interval."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import template
from django.utils.translation import gettext as _

if TYPE_CHECKING:
    from lessons.foretelling.chances.foretelling import Chance

register = template.Library()


@register.filter
def as_percent(share: float) -> str:
    """Return a share as '62 %'; nothing that is foretold is certain, so neither 0 nor 100."""
    return _("%(percent)d %%") % {"percent": _inside(share)}


@register.filter
def as_ends(chance: Chance) -> str:
    """Return the two ends of its interval in per cent, '41 to 79'."""
    return _("%(low)d to %(high)d") % {"low": _inside(chance.low), "high": _inside(chance.high)}


def _inside(share: float) -> int:
    return min(max(round(100 * share), 1), 99)
