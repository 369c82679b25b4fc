"""Letters that tell a person what was changed of their signing in, and teachers of who asks to be erased."""

from __future__ import annotations

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.models import Member, Person
from studio.reading import written_for
from studio.tasks import post

PASSWORD = gettext_lazy("Your password was changed.")
STEP_TAKEN_AWAY = gettext_lazy("Your second step was taken away: the password alone signs you in.")
# what allauth tells of, by its names
OF_ALLAUTH = {
    "account/email/password_changed": PASSWORD,
    "account/email/password_reset": PASSWORD,
    "account/email/password_set": PASSWORD,
    "mfa/email/totp_activated": gettext_lazy("A phone was set up: its codes are asked when you sign in."),
    "mfa/email/totp_deactivated": gettext_lazy("No code from your phone is asked any more when you sign in."),
    "mfa/email/webauthn_added": gettext_lazy("A passkey was added: it signs you in."),
    "mfa/email/webauthn_removed": gettext_lazy("A passkey was removed: it no longer signs you in."),
    "mfa/email/recovery_codes_generated": gettext_lazy("New codes to print were made: the old ones ended."),
}


def tell(person: Person, said: str | Promise, email: str = "") -> None:
    """Have the worker write to the person's address, or to a former one; nothing where there is none."""
    to = email or person.email
    if not to:
        return
    words = {
        "person": person,
        "said": said,
        "link": settings.SITE_ADDRESS + reverse("account_reset_password"),
    }
    with written_for(person):
        text = render_to_string("studio/email/notice.txt", words)
        post(EmailMessage(_("Your signing in was changed"), text, None, [to]))


def tell_teachers(member: Member) -> None:
    """Have the worker write to the studio's other teachers that this member asks to be erased."""
    teachers = Member.objects.teachers().filter(studio=member.studio_id).exclude(pk=member.pk)
    for teacher in teachers.exclude(person__email="").select_related("person", "studio"):
        words = {
            "teacher": teacher,
            "member": member,
            "link": settings.SITE_ADDRESS + teacher.to("member", member.pk),
        }
        with written_for(teacher.person):
            text = render_to_string("studio/email/erasure.txt", words)
            post(EmailMessage(_("Somebody asks to be erased"), text, None, [teacher.person.email]))
