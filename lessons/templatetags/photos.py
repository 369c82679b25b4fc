"""What may be wrong with a photo, in words."""

from __future__ import annotations

from django import template
from django.utils.translation import gettext as _

from reeds.photo.models.photo import Photo
from reeds.photo.vision.flaw import Flaw

register = template.Library()


@register.filter
def advice(photo: Photo) -> list[str]:
    """Return a sentence for each thing that may be wrong with it, and what to do about it."""
    return [_(Flaw(word).advice) for word in photo.flaws]


@register.filter
def flaws_named(photo: Photo) -> str:
    """Return them in a row, '' for none."""
    return ", ".join(_(Flaw(word).label) for word in photo.flaws)


@register.inclusion_tag("lessons/sending/_advice.html")
def advice_for_scripts() -> dict[str, object]:
    """Give a page's script the sentences for what it sees itself, see static/js/send/quality.js."""
    return {"advice": [(flaw.value, _(flaw.advice)) for flaw in Flaw]}
