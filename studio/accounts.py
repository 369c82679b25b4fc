"""allauth's behaviour that is ours: no sign-up without an invitation; an own, confirmed e-mail signs in."""

from __future__ import annotations

from contextlib import nullcontext
from typing import Any
from urllib.parse import urlsplit

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.auth_backends import AuthenticationBackend
from allauth.account.forms import LoginForm, ResetPasswordForm
from allauth.core.internal import ratelimit
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from studio.asking import signed_in
from studio.devices import knows, remember
from studio.models import Person
from studio.notices import OF_ALLAUTH, tell
from studio.password_forms import in_own_words
from studio.reading import written_for
from studio.tasks import post

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

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:  # noqa: ANN401  # as allauth calls it
        """Count the try before it is made: apart from strangers' where this device is known."""
        login = str(credentials.get("email") or credentials.get("username") or "")
        person = knows(request, login)
        if person is None:
            super().pre_authenticate(request, **credentials)
            return
        usage = ratelimit.consume(request, app="allauth.account", action="known_device", key=str(person.pk))
        self._login_failed_rl_usage = usage  # allauth takes it back when the password is right
        if not usage:
            raise self.validation_error("too_many_login_attempts")

    def _get_login_attempts_cache_key(self, _request: HttpRequest, **credentials: str) -> str:
        """Count tries by the person: not by the way one names them, nor by the Host one claims to ask."""
        login = (credentials.get("email") or credentials.get("username") or "").lower()
        person = whom(login)
        return f"person {person.pk}" if person else f"nobody {login}"

    def post_login(self, request: HttpRequest, user: Any, **told: Any) -> HttpResponse:  # noqa: ANN401  # as allauth calls it
        response: HttpResponse = super().post_login(request, user, **told)
        remember(response, user)
        return response

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Leave it to the worker: the page answers as fast for an address nobody has, mail server or not."""
        owner = context.get("user")
        with written_for(owner) if isinstance(owner, Person) else nullcontext():
            post(self.render_mail(template_prefix, email, {"email": email} | context))

    def send_notification_mail(self, template_prefix: str, user: Person, *_words: object) -> None:
        """Tell the person what was changed of their signing in."""
        tell(user, OF_ALLAUTH[template_prefix])

    def get_reset_password_from_key_url(self, key: str) -> str:
        """Return where a new password is chosen: at the site's own address, whatever host was asked."""
        path = urlsplit(super().get_reset_password_from_key_url(key)).path
        return f"{settings.SITE_ADDRESS}{path}"

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
        in_own_words(self)


class ResetForm(ResetPasswordForm):
    """A new password goes to whose address this is, and was shown to be."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        in_own_words(self)

    def clean_email(self) -> str:
        email: str = self.cleaned_data["email"].lower()
        self.users = list(Person.objects.filter(email=email, is_active=True))
        return email


class UserNameOrOwnEmail(AuthenticationBackend):
    """The user name always signs in; an e-mail only while one person alone has shown it to be theirs.

    Brothers and sisters may share their parents' address; if they also share a password, an e-mail would sign
    one of them in as the other.
    """

    def _authenticate_by_email(self, email: str, password: str) -> Person | None:
        owner = whom(email) if "@" in email else None
        person: Person | None = self._check_password(owner, password) if owner else None
        return person

    def get_user(self, user_id: Any) -> Person | None:  # noqa: ANN401  # as the session has it
        person = signed_in(user_id)
        return person if person and self.user_can_authenticate(person) else None


def whom(login: str) -> Person | None:
    """Return for whom a user name stands, or an e-mail that one person alone has shown to be theirs."""
    named = {"email": login.lower()} if "@" in login else {"username__iexact": login}
    found = list(Person.objects.filter(**named)[:2]) if login else []
    return found[0] if len(found) == 1 else None
