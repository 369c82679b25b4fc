"""What is known of a guardian's consent to photos and recordings: columns of a member, and what follows."""

from __future__ import annotations

import datetime as dt

from django.db import models
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

# so long what is hidden can be shown again, before it is erased; own choice
HIDDEN_FOR = dt.timedelta(days=30)


def hidden(owner: str = "") -> models.Q:
    """Return what is true of rows whose photos and takes nobody sees; `owner` is the path to the student."""
    of = f"{owner}__" if owner else ""
    return models.Q(**{f"{of}under_age": True, f"{of}guardian_consent_withdrawn_at__isnull": False})


class Consented(models.Model):
    """The columns of a member who may be under age.

    A consent taken back keeps its date: that it was given, and until when, stays known. Who noted it the
    member itself says, since that is another member.
    """

    under_age = models.BooleanField(_("under age"), default=False)
    guardian_name = models.CharField(_("guardian"), max_length=80, blank=True)
    guardian_consent_on = models.DateField(_("guardian's consent given on"), null=True, blank=True)
    guardian_consent_withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)
    # of the consent taken back last: what was hidden is gone
    pictures_erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def may_send_pictures(self) -> bool:
        """Whether photos and takes are allowed: under age only with the guardian's dated consent."""
        return not self.under_age or self.has_consent

    @property
    def has_consent(self) -> bool:
        return self.guardian_consent_on is not None and self.guardian_consent_withdrawn_at is None

    @property
    def hidden_since(self) -> dt.datetime | None:
        """Since when nobody sees this student's photos and takes; None where they are seen."""
        return self.guardian_consent_withdrawn_at if self.under_age else None

    @property
    def hidden_words(self) -> str:
        """What stands in the place of a photo or a take that is hidden; '' where it is not."""
        if self.hidden_since is None:
            return ""
        day = date_format(timezone.localtime(self.hidden_since))
        return gettext("hidden: consent was withdrawn on %(day)s") % {"day": day}

    @property
    def erased_on(self) -> dt.datetime | None:
        """When what is hidden is erased, unless a consent is given before."""
        if self.hidden_since is None or self.pictures_erased_at is not None:
            return None
        return self.hidden_since + HIDDEN_FOR

    @property
    def why_no_pictures(self) -> str:
        """The sentence with which a photo or a recording is refused; '' where it may be sent."""
        if self.may_send_pictures:
            return ""
        if self.hidden_since is None:
            return gettext(
                "Photos and recordings can be sent once your guardian's consent is noted. "
                "Numbers and questions can be sent now."
            )
        day = date_format(timezone.localtime(self.hidden_since))
        return gettext(
            "Your guardian took the consent to photos and recordings back on %(day)s, so none can be sent. "
            "Numbers and questions can be sent as before."
        ) % {"day": day}
