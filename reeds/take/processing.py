"""What a browser said of its own processing of the sound, in the settings of its media track."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Processing:
    """Whether each kind of processing was on; None where the browser did not say.

    The keys of its JSON are those of MediaTrackSettings (W3C Media Capture and Streams).
    """

    auto_gain_control: bool | None = None
    noise_suppression: bool | None = None
    echo_cancellation: bool | None = None

    @classmethod
    def from_json(cls, given: Mapping[str, Any]) -> Processing:
        """Return what was said; whatever is not a plain yes or no is unknown."""
        return cls(*(given[key] if isinstance(given.get(key), bool) else None for key in KEYS))

    def to_json(self) -> dict[str, bool | None]:
        return dict(zip(KEYS, self._all, strict=True))

    @property
    def _all(self) -> tuple[bool | None, ...]:
        return (self.auto_gain_control, self.noise_suppression, self.echo_cancellation)

    @property
    def was_on(self) -> bool:
        """Whether some processing is known to have changed the sound."""
        return True in self._all

    @property
    def hides_level(self) -> bool:
        """Whether level, range and soft attacks cannot be told: some processing was on, or nobody knows."""
        return self != OFF


KEYS = ("autoGainControl", "noiseSuppression", "echoCancellation")
OFF = Processing(auto_gain_control=False, noise_suppression=False, echo_cancellation=False)
