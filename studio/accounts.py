"""allauth's behaviour that is ours: no sign-up without an invitation; a shared e-mail signs nobody in."""

from __future__ import annotations

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.auth_backends import AuthenticationBackend
from allauth.account.forms import LoginForm
from django.contrib.auth.base_user import AbstractBaseUser
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from studio.models import Person

DOES_NOT_FIT = _(
    "This name and this password do not belong together. If others use the same e-mail address, sign in with "
    "your user name."
)


class InvitedOnly(DefaultAccountAdapter):
    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "email_password_mismatch": DOES_NOT_FIT,
        "username_password_mismatch": DOES_NOT_FIT,
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def get_password_change_redirect_url(self, request: HttpRequest) -> str:
        return reverse("start")


class SignInForm(LoginForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.fields["login"].label = _("User name or e-mail")
        self.fields["login"].widget.attrs.update(
            {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        )
        self.fields["password"].help_text = ""
        for field in self.fields.values():
            field.widget.attrs.pop("placeholder", None)  # the label says it


class UserNameOrOwnEmail(AuthenticationBackend):
    """The user name always signs in; an e-mail only while one person alone has it.

    Brothers and sisters may share their parents' address; if they also share a password, an e-mail would sign
    one of them in as the other.
    """

    def authenticate(self, request: HttpRequest | None, **credentials: Any) -> AbstractBaseUser | None:  # noqa: ANN401  # as Django calls it
        names = {key: value for key, value in credentials.items() if not _is_shared_email(value)}
        person: AbstractBaseUser | None = super().authenticate(
            request, **{**names, "password": credentials.get("password")}
        )
        return person


def _is_shared_email(value: object) -> bool:
    return isinstance(value, str) and "@" in value and Person.objects.filter(email=value.lower()).count() > 1
