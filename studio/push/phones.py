"""The devices that somebody wants to be told on: what a browser gave us to reach it by.

The address is one at a push service (RFC 8030), and whoever knows it and the two keys can send there: it is
in no log, no export and no page, and goes when one signs out on that device.
"""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from studio.models import Person

# own choice, no source: a phone, a tablet, a computer or two; the one added longest ago makes room
MOST_PHONES = 5
LONGEST_ENDPOINT = 1000


class Phone(models.Model):
    """One browser on one device, as a person allowed it."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="phones")
    endpoint = models.CharField(max_length=LONGEST_ENDPOINT, unique=True)
    p256dh = models.CharField(max_length=100)
    auth = models.CharField(max_length=30)
    added_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-added_at", "-pk"]

    def __str__(self) -> str:
        return f"device {self.pk}"
