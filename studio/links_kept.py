"""The columns of a signed link that works once: an invitation, a new password."""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar

from django.core import signing
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import StudioQuerySet, StudioRow


class LinkState(models.TextChoices):
    OPEN = "open", _("open")
    USED = "used", _("used")
    REVOKED = "revoked", _("taken back")
    EXPIRED = "expired", _("expired")


AnyLink = TypeVar("AnyLink", bound="Link")


class LinkQuerySet(StudioQuerySet[AnyLink]):
    def open(self) -> LinkQuerySet[AnyLink]:
        return self.filter(used_at__isnull=True, revoked_at__isnull=True, expires_at__gt=timezone.now())

    def by_token(self, token: str) -> AnyLink | None:
        """Return the row that this link was made for, open or not; None for a forged link."""
        try:
            told = signing.loads(token, salt=self.model.salt)
        except signing.BadSignature:
            return None
        pk = told[0] if isinstance(told, list) else told
        return self.filter(pk=pk).select_related("studio").first()

    def take(self, link: Link) -> bool:
        """Use the link up; False if somebody was quicker or it is not open any more."""
        return self.open().filter(pk=link.pk).update(used_at=timezone.now()) == 1


class Link(StudioRow):
    """A signed link that works once, until it expires or is taken back."""

    salt: ClassVar[str]

    created_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_at = models.DateTimeField(_("until"))
    used_at = models.DateTimeField(null=True, editable=False)
    revoked_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[LinkQuerySet[Any]] = LinkQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        abstract = True
        ordering = ["-created_at"]

    @property
    def token(self) -> str:
        return signing.dumps(self.pk, salt=self.salt)

    @property
    def state(self) -> LinkState:
        if self.used_at is not None:
            return LinkState.USED
        if self.revoked_at is not None:
            return LinkState.REVOKED
        return LinkState.OPEN if self.expires_at > timezone.now() else LinkState.EXPIRED

    @property
    def is_open(self) -> bool:
        return self.state == LinkState.OPEN
