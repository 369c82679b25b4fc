"""What is noted at the bench and while playing: strokes as they were counted, a day it was played on."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from reeds.checks.experiments import MOST_STROKES, STROKES, Blade, Experiment, Side, Strokes, Zone
from reeds.fields import OnceForm, PastDay, PastMoment
from reeds.reed.models.reed import EventKind
from reeds.reed.playing_life import LIFE
from reeds.wording import choices_of


class StrokesForm(OnceForm):
    """Strokes that were taken: filled in beforehand as the usual next step has them."""

    prefix = "strokes"

    count = forms.IntegerField(
        label=gettext_lazy("Strokes on each place"), min_value=1, max_value=MOST_STROKES, initial=STROKES
    )
    side = forms.ChoiceField(
        label=gettext_lazy("Side"),
        help_text=gettext_lazy("Looking into the tip, the marked blade up."),
    )
    blade = forms.ChoiceField(label=gettext_lazy("Blade"))
    zone = forms.ChoiceField(label=gettext_lazy("Where"))
    at = PastMoment()

    def __init__(self, *args: Any, doing: Experiment | None = None, **kwargs: Any) -> None:  # noqa: ANN401
        if doing and doing.strokes:
            usual = doing.strokes
            place = {"side": usual.side, "blade": usual.blade, "zone": usual.zone}
            kwargs["initial"] = {"count": usual.count, **place}
        super().__init__(*args, **kwargs)
        for name, words in (("side", Side), ("blade", Blade), ("zone", Zone)):
            self.fields[name].choices = choices_of(words)  # type: ignore[attr-defined]

    @property
    def done(self) -> Strokes:
        """What was typed."""
        given = self.cleaned_data
        return Strokes(given["count"], Side(given["side"]), Blade(given["blade"]), Zone(given["zone"]))


class LifeForm(forms.Form):
    """That a reed was played, went soft or was put away, today or on an earlier day."""

    what = forms.ChoiceField(choices=[(kind.value, kind.label) for kind in LIFE], widget=forms.HiddenInput)
    day = PastDay(label=gettext_lazy("On another day"))

    @property
    def kind(self) -> EventKind:
        """What happened."""
        return EventKind(self.cleaned_data["what"])
