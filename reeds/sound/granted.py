"""What a take cannot tell, given what the browser did to the sound before it was kept."""

from __future__ import annotations

from collections.abc import Mapping

from reeds.words import gettext_noop

PROCESSING = ("autoGainControl", "noiseSuppression", "echoCancellation")

LEVEL_HIDDEN = gettext_noop(
    "The device evened out the loudness: level and the range from soft to loud cannot be told."
)
SOFT_HIDDEN = gettext_noop("The device took out noise: soft notes, soft attacks and air cannot be told.")
ATTACKS_HIDDEN = gettext_noop("The device took out echo: the response and soft attacks cannot be told.")
LEVEL_UNSURE = gettext_noop(
    "Whether the device evened out the loudness is not known: level and range cannot be told."
)
SOFT_UNSURE = gettext_noop(
    "Whether the device took out noise is not known: soft notes, soft attacks and air cannot be told."
)
ATTACKS_UNSURE = gettext_noop(
    "Whether the device took out echo is not known: the response and soft attacks cannot be told."
)

_SAID = {
    ("autoGainControl", True): LEVEL_HIDDEN,
    ("autoGainControl", None): LEVEL_UNSURE,
    ("noiseSuppression", True): SOFT_HIDDEN,
    ("noiseSuppression", None): SOFT_UNSURE,
    ("echoCancellation", True): ATTACKS_HIDDEN,
    ("echoCancellation", None): ATTACKS_UNSURE,
}
_HIDES = {
    "autoGainControl": {"level_db", "range_db", "response_ms"},
    "noiseSuppression": {"level_db", "range_db", "response_ms", "sounded", "snr_db"},
    "echoCancellation": {"level_db", "range_db", "response_ms"},
}


def cannot_be_told(granted: Mapping[str, bool | None]) -> list[str]:
    """Return the sentences, for translation, that a take's processing calls for.

    Parameters
    ----------
    granted : mapping of str to bool or None
        `autoGainControl`, `noiseSuppression` and `echoCancellation` as the browser reported them; None or
        missing where it did not say. A file from elsewhere is unknown in all three.
    """
    sentences = (_SAID.get((name, granted.get(name))) for name in PROCESSING)
    return [sentence for sentence in sentences if sentence is not None]


def hidden_figures(granted: Mapping[str, bool | None]) -> frozenset[str]:
    """Return the names of the figures that must not be judged: those any processing on or unknown touches."""
    touched = [_HIDES[name] for name in PROCESSING if granted.get(name) is not False]
    return frozenset().union(*touched)
