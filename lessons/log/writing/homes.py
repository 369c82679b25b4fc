"""Where what lines tell belongs: a reed that is there, or has just been made."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from lessons.log.table.gathering import Gathered


@dataclass(frozen=True)
class Home:
    """A reed that lines speak of: its row's key, what is told of it, when it was made."""

    pk: int
    told: Gathered
    made_at: dt.datetime
