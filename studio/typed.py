"""What a user name and a time zone may be."""

from __future__ import annotations

import zoneinfo

from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _


def is_time_zone(name: str) -> None:
    """Refuse a time zone that this machine does not know."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(_("There is no time zone of this name."))


# no @, so that a user name is never taken for an e-mail address
as_user_name = RegexValidator(r"^[\w.-]+\Z", _("Use only letters, digits, dots and dashes, no spaces."))
