"""The form for what a caliper says of a reed that lies on a measured photo."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from reeds.fields import TypedNumber
from reeds.numbers.registry import QUANTITIES


class CaliperForm(forms.Form):
    """One length each, mm; any may be left empty."""

    def __init__(self, keys: Iterable[str], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        for key in keys:
            self.fields[key] = TypedNumber.of(QUANTITIES[key])

    def typed(self) -> dict[str, float]:
        """Return the lengths that were typed, mm by quantity; once the form is valid."""
        return {key: mm for key, mm in self.cleaned_data.items() if mm is not None}
