"""What was heard: the frozen records that the analysis hands to pages, checks, the row and the command."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from reeds.numbers.measured import Measured
from reeds.numbers.notes import hz_of_note, parse_note

# ISO 16:1975
STANDARD_A4_HZ = 440.0


@dataclass(frozen=True)
class NotesSpoken:
    """Low notes, third octave: how many of the notes asked for spoke; without a list, of the attempts."""

    asked: int
    spoke: int


@dataclass(frozen=True)
class Staccato:
    """Repeated notes of one pitch.

    Attributes
    ----------
    count : int
        Notes that sounded at that pitch.
    rate_per_s : Measured or None
        Notes a second; None for fewer than three.
    interval_cv : Measured or None
        Coefficient of variation of the intervals, 0 for a machine; None for fewer than two intervals.
    failed : int
        Attempts that gave no such note.
    """

    count: int
    rate_per_s: Measured | None = None
    interval_cv: Measured | None = None
    failed: int = 0


@dataclass(frozen=True)
class LongTone:
    """From the softest to the loudest of the longest tone, dB; None where no tone was heard."""

    range_db: Measured | None = None


@dataclass(frozen=True)
class Tuning:
    """Cents of the longest tone against the tuning note; None where no tone was heard."""

    cents: Measured | None = None


@dataclass(frozen=True)
class CrowPitch:
    """One pitch of a crow: its frequency, the nearest note, cents from it."""

    hz: float
    name: str
    cents: Measured


@dataclass(frozen=True)
class Crow:
    """The pitches that sound together, from below; whether two lie an octave apart, None where untold."""

    pitches: tuple[CrowPitch, ...] = ()
    octave: bool | None = None


Item = NotesSpoken | Staccato | LongTone | Tuning | Crow


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
    cents: Measured | None = None
    steadiness_cents: Measured | None = None
    drift_cents_per_s: Measured | None = None
    response_ms: Measured | None = None
    level_db: Measured | None = None
    heard: str | None = None

    def hz(self, a4_hz: float) -> float | None:
        """Return the mean pitch in hertz: the note's, so many cents off it."""
        if self.name is None or self.cents is None:
            return None
        return hz_of_note(parse_note(self.name), a4_hz) * math.pow(2.0, self.cents.value / 1200.0)

    def lasts_at(self, t_s: float) -> bool:
        """Whether it is blown at that moment."""
        return self.start_s is not None and self.end_s is not None and self.start_s <= t_s <= self.end_s


@dataclass(frozen=True)
class Quality:
    """How good the recording itself is.

    Attributes
    ----------
    snr_db : float or None
        Median level of the tones over the noise; None where there is no tone or no pause.
    clipped : bool
        The recorder overloaded.
    noise_db : float or None
        Level of the noise in dB re full scale.
    band_hz : (float, float) or None
        Lowest and highest frequency that the recording carries, roughly.
    """

    snr_db: float | None = None
    clipped: bool = False
    noise_db: float | None = None
    band_hz: tuple[float, float] | None = None


@dataclass(frozen=True)
class Also:
    """What else is heard: "tone" of a pitch in hertz, "voices" (or music), "clicks"; from when to when."""

    kind: str
    start_s: float
    end_s: float
    hz: float | None = None


@dataclass(frozen=True)
class Heard:
    """Everything that one recording told; without arguments: nothing.

    Attributes
    ----------
    a4_hz : float
        The A against which cents are told.
    duration_s : float
        How long the recording is.
    notes : tuple of HeardNote
        In order of time, or of the notes expected.
    item : Item or None
        What the item of the playing test asks for; None where none was named.
    quality : Quality
        Of the recording.
    warnings : tuple of str
        What it cannot tell, in sentences that a page translates.
    also : tuple of Also
        What else is heard in it.
    moved_cents : float or None
        How much higher than asked all notes lie together, where that is another list or another A.
    """

    a4_hz: float = STANDARD_A4_HZ
    duration_s: float = 0.0
    notes: tuple[HeardNote, ...] = ()
    item: Item | None = None
    quality: Quality = field(default_factory=Quality)
    warnings: tuple[str, ...] = ()
    also: tuple[Also, ...] = ()
    moved_cents: float | None = None

    @property
    def is_disturbed(self) -> bool:
        """Whether something else sounds that could be taken for the reed, or hide it: a click could not."""
        return any(one.kind != "clicks" for one in self.also)
