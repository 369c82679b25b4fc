"""How sure the studio's own tools are: one number for each way of measuring that people type."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.formats import number_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from reeds.checks.conformity import narrowest
from reeds.fields import TypedNumber
from reeds.numbers.quantity import u_of_length
from reeds.numbers.words import Method, gettext_noop

WAYS = [way for way in Method if way.by_hand]
NAMES = {
    Method.EYE: gettext_noop("the doubt by eye"),
    Method.RULER: gettext_noop("the doubt of the ruler"),
    Method.CALIPER: gettext_noop("the doubt of the caliper"),
    Method.DIAL: gettext_noop("the doubt of the dial gauge"),
}
# between finer than it can be read at both ends and so coarse that it tells nothing of a reed, mm: the lower
# is sqrt(2) d / sqrt(12) (JCGM 100:2008, F.2.2.1) for d = 0.1 on a ruler, 0.02 on a caliper, 0.005 on a dial;
# that by eye and the upper ends are common practice from memory, no source
BOUNDS: dict[Method, tuple[float, float]] = {
    Method.EYE: (0.1, 2.0),
    Method.RULER: (0.04, 1.0),
    Method.CALIPER: (0.008, 0.5),
    Method.DIAL: (0.002, 0.1),
}


class DoubtsForm(forms.Form):
    """The studio's own standard uncertainties, mm; empty for the usual one."""

    def __init__(self, own: Mapping[Method, float], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        kwargs["initial"] = {way.value: u for way, u in own.items()}
        super().__init__(*args, **kwargs)
        for way in WAYS:
            low, high = BOUNDS[way]
            now, usual = u_of_length(way, own) or 0.0, way.u_mm or 0.0
            numbers = {"usual": usual, "low": low, "high": high, "range": round(narrowest(now), 2)}
            shown = {name: number_format(number) for name, number in numbers.items()}
            self.fields[way.value] = TypedNumber(
                name=NAMES[way],
                unit="mm",
                low=low,
                high=high,
                label=capfirst(_(way.label)),
                help_text=_(
                    "Usually %(usual)s. At least %(low)s, finer cannot be read, at most %(high)s."
                    " As it stands it can decide a range of %(range)s mm."
                )
                % shown,
            )

    def doubts(self) -> dict[Method, float]:
        """Return what was given; a way left empty is not in it."""
        given = {way: self.cleaned_data.get(way.value) for way in WAYS}
        return {way: u for way, u in given.items() if u is not None}
