"""Days of a list as moments: noon in the studio's time zone, unless the list tells the time of day."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from dataclasses import dataclass

from lessons.log.table.days import When


@dataclass(frozen=True)
class Clock:
    """The zone of a studio and the present moment, after which nothing of a list can lie."""

    zone: zoneinfo.ZoneInfo
    now: dt.datetime

    def moment(self, when: When, not_before: dt.datetime | None = None) -> dt.datetime:
        """Return the moment that is meant: a day's noon, not to come, and not before a reed was made."""
        if not isinstance(when, dt.datetime):
            when = dt.datetime.combine(when, dt.time(12))
        at = when if when.tzinfo else when.replace(tzinfo=self.zone)
        at = min(at, self.now)
        return at if not_before is None else max(at, not_before)
