"""How somebody wants to be told, and what a browser says of where it can be."""

from __future__ import annotations

from typing import Any

from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePublicKey
from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studio.models import Person
from studio.push.coding import read
from studio.push.line import may_be_asked
from studio.push.phones import LONGEST_ENDPOINT
from studio.push.sealing import SECRET_BYTES
from studio.told_by import TellBy

NO_ADDRESS = _("This browser did not say where it can be told. Choose e-mail, or try another browser.")
BAD_ADDRESS = _("What this browser says of where it can be told cannot be used.")


class ToldForm(forms.Form):
    """One way of being told; for this device with what its browser gave."""

    told_by = forms.ChoiceField(
        label=_("How you are told"), choices=TellBy.choices, widget=forms.RadioSelect(), required=True
    )
    endpoint = forms.CharField(max_length=LONGEST_ENDPOINT, required=False, widget=forms.HiddenInput)
    p256dh = forms.CharField(max_length=100, required=False, widget=forms.HiddenInput)
    auth = forms.CharField(max_length=30, required=False, widget=forms.HiddenInput)

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django's
        super().__init__(*args, **kwargs)
        self.person = person
        self.initial = {"told_by": person.told_by}

    @property
    def way(self) -> TellBy:
        return TellBy(self.cleaned_data["told_by"])

    @property
    def device(self) -> dict[str, str] | None:
        """What the browser gave, where a notice on a device was chosen and this one is to be one of them."""
        if self.way is not TellBy.PHONE or not self.cleaned_data["endpoint"]:
            return None
        return {name: self.cleaned_data[name] for name in ("endpoint", "p256dh", "auth")}

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or self.cleaned_data
        if self.errors or given.get("told_by") != TellBy.PHONE:
            return given
        if not given.get("endpoint") and not self.person.phones.exists():
            raise ValidationError(NO_ADDRESS)
        if given.get("endpoint") and not _can_be_used(given):
            raise ValidationError(BAD_ADDRESS)
        return given


def _can_be_used(given: dict[str, str]) -> bool:
    """Whether an address may be asked and its keys are some: a point of the curve, sixteen bytes."""
    try:
        EllipticCurvePublicKey.from_encoded_point(SECP256R1(), read(given["p256dh"]))
        return len(read(given["auth"])) == SECRET_BYTES and may_be_asked(given["endpoint"])
    except ValueError:
        return False
