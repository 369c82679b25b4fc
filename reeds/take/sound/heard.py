"""What was heard: the frozen records that the analysis hands to pages, checks and the command."""

from __future__ import annotations

from dataclasses import dataclass, field

from reeds.numbers.measured import Measured

Item = dict[str, object]


def beside(name: str, measured: Measured | None) -> Item:
    """Return a figure and its standard uncertainty under two names, as everything for JSON has them."""
    value, u = (None, None) if measured is None else (measured.value, measured.u)
    return {name: value, f"{name}_standard_uncertainty": u}


@dataclass(frozen=True)
class HeardNote:
    """One blown note, or one note that was expected.

    Attributes
    ----------
    start_s, end_s : float or None
        From the first air to the end of the tone; None where nothing at all was found for an expected note.
    sounded : bool
        It spoke; for an expected note also: within 150 cents of it.
    name : str or None
        The expected note, else the nearest one.
    hz : float or None
        Mean pitch.
    cents : Measured or None
        Mean over the settled part, whole vibrato cycles, against `name`.
    steadiness_cents, drift_cents_per_s : Measured or None
        Standard deviation about the drift, and the drift.
    response_ms : Measured or None
        From the first air to a settled tone; None where it never settled.
    level_db : Measured or None
        Median level in dB re full scale.
    heard : str or None
        For an expected note that did not sound: what was heard in its place.
    """

    start_s: float | None
    end_s: float | None
    sounded: bool
    name: str | None = None
    hz: float | None = None
    cents: Measured | None = None
    steadiness_cents: Measured | None = None
    drift_cents_per_s: Measured | None = None
    response_ms: Measured | None = None
    level_db: Measured | None = None
    heard: str | None = None


@dataclass(frozen=True)
class Quality:
    """How good the recording itself is.

    Attributes
    ----------
    snr_db : float or None
        Median level of the tones over the noise; None where there is no tone or no pause.
    noise_db : float or None
        Level of the noise in dB re full scale.
    clipped : bool
        The recorder overloaded.
    band_hz : (float, float)
        Lowest and highest frequency that the recording carries, roughly.
    """

    snr_db: float | None
    noise_db: float | None
    clipped: bool
    band_hz: tuple[float, float]


@dataclass(frozen=True)
class Heard:
    """Everything that one take told."""

    a4_hz: float
    duration_s: float
    notes: list[HeardNote]
    quality: Quality
    item: Item | None = None
    warnings: list[str] = field(default_factory=list)
