"""allauth's forms around passwords, asked in our own words."""

from __future__ import annotations

from typing import Any

from allauth.account.forms import ChangePasswordForm, ReauthenticateForm, ResetPasswordKeyForm
from django import forms
from django.utils.translation import gettext_lazy as _

PASSWORD_HELP = _("At least 8 characters; several words are good.")
LABELS = {
    "oldpassword": _("The password so far"),
    "password": _("Password"),
    "password1": _("A new password"),
    "password2": _("The new password once more"),
    "email": _("E-mail"),
}
HELP = {"password1": PASSWORD_HELP}


def in_own_words(form: forms.BaseForm) -> None:
    """Call each field of a form of allauth as our pages do, and take away what its label says already."""
    for name, field in form.fields.items():
        if name in LABELS:
            field.label, field.help_text = LABELS[name], HELP.get(name, "")
        field.widget.attrs.pop("placeholder", None)


class ChangePassword(ChangePasswordForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as a form takes them
        super().__init__(*args, **kwargs)
        in_own_words(self)


class NewPassword(ResetPasswordKeyForm):
    """Chosen by the link of an e-mail."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as a form takes them
        super().__init__(*args, **kwargs)
        in_own_words(self)


class PasswordOnceMore(ReauthenticateForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as a form takes them
        super().__init__(*args, **kwargs)
        in_own_words(self)
