"""A second step at signing in: a code from the phone or a passkey, through allauth; who must have one."""

from __future__ import annotations

from allauth.mfa.adapter import DefaultMFAAdapter, get_adapter
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.totp.internal.auth import TOTP
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails

from studio.links import qr
from studio.models import Member, Person
from studio.notices import STEP_TAKEN_AWAY, tell

# codes to print are no step of their own: they stand in for a lost one
STEPS = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)


class SecondStep(DefaultMFAAdapter):
    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": _("This does not fit. A code from the phone works once, while it is shown."),
        "cannot_generate_recovery_codes": _("First set up the phone or a passkey."),
    }

    def build_totp_svg(self, url: str) -> str:
        return qr(url)

    def _get_user_identifier(self, user: Person) -> str:
        return user.username

    def generate_authenticator_name(self, user: Person, type: str) -> str:  # as allauth calls it
        number = Authenticator.objects.filter(user=user, type=type).count() + 1
        return gettext("Passkey %(number)s") % {"number": number}


def has_second_step(person: Person) -> bool:
    """Whether anything beside the password is asked when this person signs in."""
    found: bool = Authenticator.objects.filter(user=person, type__in=STEPS).exists()
    return found


def lacks_second_step(member: Member) -> bool:
    """Whether the studio demands a second step of this member, who has none."""
    return member.teaches and member.studio.teachers_second_step and not has_second_step(member.person)


def led_to_set_up(request: HttpRequest) -> HttpResponse:
    """Answer with the page on which a second step is set up; it belongs to no studio, so it stays open."""
    there = reverse("mfa_index") + "?demanded=1"
    asked: HtmxDetails = request.htmx  # type: ignore[attr-defined]  # its middleware ran before
    return HttpResponseClientRedirect(there) if asked else redirect(there)


def forget_second_step(person: Person) -> None:
    """Have the password alone sign this person in again; printed codes go too."""
    gone, _rows = Authenticator.objects.filter(user=person).delete()
    if gone:
        tell(person, STEP_TAKEN_AWAY)


class PhoneSetUp(ActivateTOTPForm):
    """The first code of a phone, which does not sign in once more."""

    def clean_code(self) -> str:
        code: str = super().clean_code()
        if not TOTP(Authenticator(user=self.user))._mark_code_used(code):
            raise get_adapter().validation_error("incorrect_code")
        return code
