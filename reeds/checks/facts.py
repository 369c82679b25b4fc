"""What the checks read about one reed: plain facts, no database."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from reeds.numbers.measured import Measured
from reeds.numbers.words import Flexibility, Method, Moisture, Stage, Style

# numbers that a recording may give, and the item that gives them
FROM_TAKES = {"a4_cents": "tuning", "crow": "crow"}


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One number or one thing seen, as it was noted.

    Attributes
    ----------
    quantity : str
        A key of the registry.
    measured : Measured or None
        Value and standard uncertainty in the quantity's unit; None for a choice.
    choice : str
        What was seen, for a choice.
    when : datetime or None
        When it was measured, with its zone; None is taken as the oldest.
    stage : Stage or None
        The stage the reed was in.
    batch : str
        Which photo or take it came from: numbers of one batch share their error and are not set against
        each other. '' for none.
    computed_from : tuple of str
        Keys of the quantities it was computed from.
    by_teacher : bool
        Whether the teacher measured it and not the student.
    """

    quantity: str
    measured: Measured | None = None
    choice: str = ""
    method: Method = Method.RULER
    moisture: Moisture = Moisture.UNKNOWN
    when: datetime | None = None
    stage: Stage | None = None
    batch: str = ""
    computed_from: tuple[str, ...] = ()
    by_teacher: bool = False


@dataclass(frozen=True)
class Clip:
    """One clip from the tip: how much, mm, and when (None is taken as before everything)."""

    amount: Measured
    when: datetime | None = None


@dataclass(frozen=True)
class Told:
    """What one take told of an item.

    Attributes
    ----------
    asked, spoke : int or None
        Notes asked for, and how many of them spoke; None where the item asks for none.
    response_ms : Measured or None
        From the first air to a settled tone, ms: the median over the notes that spoke.
    too_noisy : bool
        Whether the recording cannot tell.
    cents : Measured or None
        Of the tuning note, against the note asked for.
    doubtful : bool
        Whether something else sounds, or another list was played: no ground for what cannot be undone.
    once : bool
        Whether only one note of one take says that it answers late, or does not speak.
    """

    asked: int | None = None
    spoke: int | None = None
    response_ms: Measured | None = None
    too_noisy: bool = False
    cents: Measured | None = None
    doubtful: bool = False
    once: bool = False


@dataclass(frozen=True, kw_only=True)
class ReedFacts:
    """Everything the checks read about one reed.

    Attributes
    ----------
    staple_length : float or None
        The nominal length of the staple it is tied on, mm.
    numbers : mapping of key to Reading
        The newest reading of each quantity (see `newest.newest`).
    others : mapping of key to tuple of Reading
        Readings of the same quantity by another way or another person (see `newest.others`).
    clips : tuple of Clip
        All clips since it was tied.
    rested : timedelta or None
        From tying to the first scraping, or up to now if it is a blank.
    bound_for : timedelta or None
        The same from binding on: counted apart, since a blank is bound shortly before it is scraped.
    answers : mapping of item to rating
        The playing test by the keys of `heard.PLAYING_TEST`: 1 (does not speak) to 5 (speaks at once); and
        under `heard.EFFORT` how hard it is to blow: 1 (very easy) to 5 (very hard).
    takes, reference_takes : mapping of item to Told
        What recordings of this reed told, and those of the player's reference reed of the same sitting.
    doubts : mapping of Method to float
        The studio's own standard uncertainties of its tools, mm, where they differ from the usual.
    may_act : bool
        Whether the teacher lets this student take at once a next step that cannot be undone.
    """

    style: Style
    stage: Stage
    staple_length: float | None = None
    flexibility: Flexibility = Flexibility.UNKNOWN
    numbers: Mapping[str, Reading] = field(default_factory=dict)
    others: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    clips: tuple[Clip, ...] = ()
    rested: timedelta | None = None
    bound_for: timedelta | None = None
    answers: Mapping[str, int] = field(default_factory=dict)
    takes: Mapping[str, Told] = field(default_factory=dict)
    reference_takes: Mapping[str, Told] = field(default_factory=dict)
    doubts: Mapping[Method, float] = field(default_factory=dict)
    may_act: bool = False

    def value(self, key: str) -> Measured | None:
        """The newest number of a quantity, or None."""
        reading = self.numbers.get(key)
        return reading.measured if reading else None

    def choice(self, key: str) -> str:
        """The newest thing seen of a quantity, or ''."""
        reading = self.numbers.get(key)
        return reading.choice if reading else ""

    def clipped(self, *, until: datetime | None = None, after: datetime | None = None) -> Measured:
        """The sum of clips made up to `until` and later than `after`; a limit that is None does not bind."""
        total = Measured(0.0)
        for clip in self.clips:
            early_enough = until is None or clip.when is None or clip.when <= until
            late_enough = after is None or (clip.when is not None and clip.when > after)
            if early_enough and late_enough:
                total = total + clip.amount
        return total
