"""What the page of the opening sends: the outline's points, which blade is up, the tip's width."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import MeasuredOnPhoto, TypedNumber
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import u_of_length
from reeds.numbers.words import Method, gettext_noop
from reeds.photo.measuring import points_from
from reeds.photo.models.photo import Photo
from reeds.photo.vision.markers import MIRRORED
from reeds.photo.vision.outline import NAMES

UP, DOWN, UNKNOWN = "up", "down", "unknown"
MARKED = [
    (UP, gettext_lazy("up, as it should be")),
    (DOWN, gettext_lazy("down")),
    (UNKNOWN, gettext_lazy("no mark to be seen")),
]
CAMERAS = [
    ("back", gettext_lazy("the back camera, or not mirrored")),
    ("selfie", gettext_lazy("the selfie camera, or mirrored")),
]


class OpeningForm(MeasuredOnPhoto):
    """One state of the page of the opening."""

    points = forms.CharField(max_length=4000)
    marked = forms.ChoiceField(
        choices=MARKED,
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say whether the marked blade is up.")},
    )
    camera = forms.ChoiceField(
        choices=CAMERAS,
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say with which camera it was taken.")},
    )
    tip_width = TypedNumber(name=gettext_noop("the tip's width"), unit="mm", low=3.0, high=15.0)

    def __init__(
        self,
        photo: Photo,
        stored: Measured | None,
        doubts: Mapping[Method, float],
        *args: Any,  # noqa: ANN401  # as Django's own
        **kwargs: Any,  # noqa: ANN401
    ) -> None:
        super().__init__(*args, **kwargs)
        self.photo, self.stored, self.doubts, self.shown_width = photo, stored, doubts, photo.width

    def clean_points(self) -> dict[str, tuple[float, float]]:
        size = (self.photo.width or 1, self.photo.height or 1)
        try:
            points = points_from(self.cleaned_data["points"], frozenset(NAMES), size)
        except (ValueError, RecursionError):
            raise ValidationError(
                _("The points cannot be read: every point is two numbers within the picture.")
            ) from None
        if set(points) != set(NAMES):
            raise ValidationError(_("A point of the outline is missing: open the page anew."))
        return points

    def clean_camera(self) -> str:
        camera: str = self.cleaned_data["camera"]
        if camera == "selfie":
            raise ValidationError(_(MIRRORED))
        return camera

    @property
    def width(self) -> Measured | None:
        """The tip's width: the reed's own number where it is that, else as typed from a caliper."""
        typed = self.cleaned_data.get("tip_width")
        if typed is None:
            return None
        if self.stored is not None and abs(typed - self.stored.value) < 0.051:
            return self.stored
        return Measured(typed, u_of_length(Method.CALIPER, self.doubts) or 0.0)
