"""What may become of rows whose reed is there already."""

from __future__ import annotations

from enum import StrEnum


class Existing(StrEnum):
    """What becomes of rows whose reed is there already."""

    REFUSE = "refuse"
    ADD = "add"
    NEW = "new"
