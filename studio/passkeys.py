"""The forms of passkeys: allauth's, made safe against what no browser sends, in our words."""

from __future__ import annotations

import struct
from typing import Any

from allauth.core import context
from allauth.mfa.adapter import get_adapter
from allauth.mfa.models import Authenticator
from allauth.mfa.signals import authentication_failed
from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from cryptography.exceptions import InvalidSignature
from django import forms
from django.utils.translation import gettext_lazy as _

# what reading a forged answer of a passkey ends in; allauth expects some of them only
UNREADABLE = (ValueError, RecursionError)
FORGED = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError, InvalidSignature, struct.error)


class Credential(forms.JSONField):
    """What a passkey answers; numbers too long and lists too deep to read are refused like other nonsense."""

    widget = forms.HiddenInput

    def to_python(self, value: Any) -> Any:  # noqa: ANN401  # as the field's own
        try:
            return super().to_python(value)
        except UNREADABLE as odd:
            raise get_adapter().validation_error("incorrect_code") from odd

    def bound_data(self, data: Any, initial: Any) -> Any:  # noqa: ANN401  # as the field's own
        try:
            return super().bound_data(data, initial)
        except UNREADABLE:
            return ""


class _Checked(forms.Form):
    """Refuses with a sentence what is no answer of a passkey, and says that one did not fit, as of codes."""

    credential = Credential()

    def clean_credential(self) -> Any:  # noqa: ANN401  # a row of allauth's
        try:
            return super().clean_credential()  # type: ignore[misc]  # of the form it stands before
        except FORGED as forged:
            self._did_not_fit()
            raise get_adapter().validation_error("incorrect_code") from forged
        except forms.ValidationError as refusal:
            if refusal.code == "incorrect_code":  # not one that there were too many tries of
                self._did_not_fit()
            raise

    def _did_not_fit(self) -> None:
        """Tell whoever keeps the journal; who it should be is known unless a passkey alone signs in."""
        person = getattr(self, "user", None)
        authentication_failed.send(sender=Authenticator, request=context.request, user=person)


class SignInByPasskey(_Checked, LoginWebAuthnForm):
    """Signing in by a passkey alone."""


class PasskeyAsSecondStep(_Checked, AuthenticateWebAuthnForm):
    """After the password."""


class PasskeyOnceMore(_Checked, ReauthenticateWebAuthnForm):
    """Before something of signing in is changed."""


class AddPasskey(AddWebAuthnForm):
    """A passkey, which signs in alone unless one says otherwise."""

    credential = Credential()

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.fields["name"].label = _("A name for it")
        self.fields["name"].widget.attrs["maxlength"] = 60
        self.fields["passwordless"].label = _("It signs in alone, without the password")
        self.fields["passwordless"].help_text = _("Your fingerprint, face or PIN is asked each time.")
        self.fields["passwordless"].initial = True

    def clean_name(self) -> str:
        name: str = super().clean_name()
        return name[:60]

    def clean(self) -> dict[str, Any]:
        try:
            cleaned: dict[str, Any] = super().clean()
        except FORGED as forged:
            raise get_adapter().validation_error("incorrect_code") from forged
        return cleaned
