"""The invented studio: its people and how each of their hands works. Nobody of this name is meant."""

from __future__ import annotations

from dataclasses import dataclass

STUDIO = "Reed room at Quince Lane"
TIME_ZONE = "Europe/Berlin"
TERM = "Autumn term"
PASSWORD = "cane-and-thread"  # noqa: S105  # an invented studio on a person's own machine; never in production
TEACHER = ("teacher", "Ottoline Vanterhaege")
ASSISTANT = ("assistant", "Thaddeus Quillfeather")
# of whoever is under age
GUARDIAN = ("guardian", "Isaura Lindqvist-Abara")
CANE_LABELS = ("bag with the blue string", "south slope, second cut", "gift from the summer course")
PHRASES = (
    "Measure this again with the caliper, both ends.",
    "Good even closing. Let it rest a week before you touch it.",
    "A few strokes on each side, then play it again.",
    "The thread ends where it should. Keep this.",
    "Half-cut the fold less deep on the next blank.",
    "Bring it to the lesson, I want to hear it.",
)
NOTE = "Looked at the last blanks together; closing and the first strokes."
WOUND = (
    "Wound without a gap",
    "The blades meet all along the sides, and the last turn ends just before the end of the staple.",
)
LOW = ("Low notes, softly", "So little air, and the tongue just touches. If yours waits, it is the reed.")
ALIKE = "Number [number] is tied as it should be. Write the day on it and let it rest a week."
BRING = "I want to hear its low notes with you."
SAID_BACK = "I wound it again and it holds now. May I scrape it, or shall it rest first?"
WORK = "Tie three blanks and measure each before you bind it."
AGREED = "Tie the next two a day apart, and bring the better one."


@dataclass(frozen=True)
class Hand:
    """How one student works: habits in mm, shares from 0 to 1."""

    username: str
    name: str
    staple: float = 45.0
    tie_bias: float = 0.0
    tie_spread: float = 0.6
    learns: float = 0.5
    uneven: float = 0.0
    misreads: float = 0.0
    gives_up: float = 0.1
    slow: bool = False
    under_age: bool = False
    consent: bool = False
    may_act: bool = False
    offset: float = 0.0
    measures: tuple[int, ...] = ()  # numbers of the reeds whose photo was measured before it was sent


HANDS = (
    Hand("bruno", "Bruno Askelund", tie_spread=0.9, learns=0.75, may_act=True, measures=(9,)),
    Hand("celandine", "Celandine Orr-Whitlow", tie_bias=0.9, tie_spread=0.4, learns=0.2),
    Hand("dorrit", "Dorrit Maskelyne-Foss", tie_spread=0.5, uneven=0.2, learns=0.6, measures=(7, 8)),
    Hand("ephraim", "Ephraim Tollgate", tie_spread=0.6, misreads=0.5, gives_up=0.2),
    Hand("ginevra", "Ginevra Pasqualotti-Byrd", tie_bias=1.0, tie_spread=0.4, offset=1.0),
    Hand("hew", "Hew Lindqvist-Abara", tie_spread=0.8, slow=True, gives_up=0.25, under_age=True),
)
REEDS_EACH = 10
