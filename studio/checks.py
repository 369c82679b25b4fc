"""System checks: settings that contradict each other, told in a sentence before anything starts."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.http.request import validate_host

from studio.environment import host_of

TO_THE_TERMINAL = "django.core.mail.backends.console.EmailBackend"
# what Django asks for too, but as a warning (security.W009)
SHORTEST_KEY, FEWEST_SIGNS = 50, 5
OF_ONE_PROCESS = ("LocMemCache", "DummyCache")


@dataclass(frozen=True)
class Rule:
    """What must not be, and what is said where it is."""

    id: str
    broken: Callable[[], bool]
    sentence: str
    in_production_only: bool = True

    @property
    def message(self) -> CheckMessage:
        kind = Error if ".E" in self.id else Warning
        return kind(self.sentence, id=self.id)


def _address_is_not_served() -> bool:
    return not validate_host(host_of(settings.SITE_ADDRESS), settings.ALLOWED_HOSTS)


def _is_https(address: str) -> bool:
    return address.startswith("https:")


RULES = (
    Rule(
        "studio.E001",
        _address_is_not_served,
        "SITE_ADDRESS names a host that ALLOWED_HOSTS does not: every page would answer 400.",
        in_production_only=False,
    ),
    Rule(
        "studio.E002",
        lambda: bool(settings.DEBUG),
        "PRODUCTION and DEBUG are both set: error pages would show code and settings to everybody.",
    ),
    Rule(
        "studio.E003",
        lambda: not settings.HTTPS,
        "PRODUCTION is set and SITE_ADDRESS is not https: passwords would travel readable.",
    ),
    Rule(
        "studio.E004",
        lambda: settings.HTTPS and settings.SECURE_PROXY_SSL_HEADER is None,
        "SITE_ADDRESS is https and BEHIND_PROXY is not set: the server speaks http, a proxy before it https.",
    ),
    Rule(
        "studio.E005",
        lambda: "*" in settings.ALLOWED_HOSTS,
        "ALLOWED_HOSTS lets any host through: links in e-mails could be made to lead elsewhere.",
    ),
    Rule(
        "studio.E006",
        lambda: str(settings.CACHES["default"]["BACKEND"]).endswith(OF_ONE_PROCESS),
        "CACHE_URL gives each process a cache of its own: sign-in limits would count in each alone.",
    ),
    Rule(
        "studio.E007",
        lambda: len(settings.SECRET_KEY) < SHORTEST_KEY or len(set(settings.SECRET_KEY)) < FEWEST_SIGNS,
        "SECRET_KEY is short or of few signs: sessions and links could be forged. Give 50 random characters.",
    ),
    Rule(
        "studio.E009",
        lambda: (
            bool(settings.X_ACCEL) and not (settings.PROXIES and re.fullmatch(r"/\S+/", settings.X_ACCEL))
        ),
        "X_ACCEL is set without BEHIND_PROXY, or is no location of nginx like /kept/: no file would be sent.",
        in_production_only=False,
    ),
    Rule(
        "studio.E008",
        lambda: settings.BACKUP_KEEP < 1,
        "BACKUP_KEEP is less than 1: no backup would be left.",
        in_production_only=False,
    ),
    Rule(
        "studio.E010",
        lambda: (
            bool(settings.S3_BUCKET)
            and (
                not (settings.S3_ENDPOINT and settings.S3_KEY and settings.S3_SECRET)
                or bool(settings.X_ACCEL)
            )
        ),
        "S3_BUCKET needs S3_ENDPOINT, S3_KEY and S3_SECRET, and no X_ACCEL, which sends files of the disk.",
        in_production_only=False,
    ),
    Rule(
        "studio.E011",
        lambda: settings.HTTPS and bool(settings.S3_BUCKET) and not _is_https(settings.S3_BROWSER_ENDPOINT),
        "SITE_ADDRESS is https and S3_BROWSER_ENDPOINT is not: browsers would not show a photo.",
    ),
    Rule(
        "studio.W001",
        lambda: settings.EMAIL_BACKEND == TO_THE_TERMINAL,
        "EMAIL_URL is not set: e-mail goes to the terminal, and nobody is told of an answer.",
    ),
)


@register(Tags.security)
def settings_agree(**_given: Any) -> list[CheckMessage]:  # noqa: ANN401  # as Django calls it
    """Return what contradicts itself."""
    rules = [rule for rule in RULES if settings.PRODUCTION or not rule.in_production_only]
    return [rule.message for rule in rules if rule.broken()]
