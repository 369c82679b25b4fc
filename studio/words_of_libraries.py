"""Sentences of Django and allauth that only odd requests reach, marked so that our catalogue says them.

Theirs address the reader formally in German; ours come first where a sentence is in both. What stands in
their templates is not here: every page and letter of theirs has one of ours in its place.
"""

from __future__ import annotations

from django.utils.translation import gettext_noop as _

SENTENCES = (
    _(
        "ManagementForm data is missing or has been tampered with. Missing fields: %(field_names)s. "
        "You may need to file a bug report if the issue persists."
    ),
    _("No file was submitted. Check the encoding type on the form."),
    _("Please either submit a file or check the clear checkbox, not both."),
    _(
        "Enabling passwordless operation allows you to sign in using just this key, but imposes additional "
        "requirements such as biometrics or PIN protection."
    ),
    _("Enter a phone number including country code (e.g. +1 for the US)."),
    _("Use a security key"),
    _("Use authenticator app or code"),
    _("Use your password"),
    _("You cannot activate two-factor authentication until you have verified your email address."),
    _("You cannot add an email address to an account protected by two-factor authentication."),
    _("You cannot deactivate two-factor authentication."),
    _("You cannot generate recovery codes without having two-factor authentication enabled."),
)
