"""What is true of the demo's finished term: declared here, lived in `finished.py`, found again by the pages.

What follows from it is true as well: cane that rest helps plays less often in all, since half of it did not
rest; and how a reed speaks when it is tried first tells whether it will play. Nothing else is true: no number
moves with time, no student plays more of their reeds than another, and neither staple nor shape, feel, scrape
or tie length decides whether a reed comes to play.
"""

from __future__ import annotations

from dataclasses import dataclass

from lessons.demo.histories import DAYS_SO_FAR

TERM = "Summer term"
DAYS, BREAK_DAYS = 112, 30
# today, in days from its first one
NOW = DAYS + BREAK_DAYS + DAYS_SO_FAR
THIRDS = 3
# reeds of each hand in a third of the term: four of each lot with rest, four of each without
REEDS_A_THIRD = 16

# days from tying to scraping
RESTED = (21.0, 28.0)
FRESH = (1.0, 2.0)


@dataclass(frozen=True)
class Lot:
    """Cane the teacher handed out: of four reeds a hand, how many came to play, third by third."""

    label: str
    rested: tuple[int, int, int]
    fresh: tuple[int, int, int]

    @property
    def is_helped_by_rest(self) -> bool:
        return sum(self.rested) != sum(self.fresh)


HELPED = Lot("harvest of the dry year", rested=(4, 4, 3), fresh=(1, 0, 1))
INDIFFERENT = Lot("harvest of the wet year", rested=(3, 3, 3), fresh=(3, 3, 3))
LOTS = (HELPED, INDIFFERENT)


@dataclass(frozen=True)
class Maker:
    """One hand in that term; lengths in mm, the thirds of the term in order.

    Attributes
    ----------
    tie, thread : tuple of three floats
        The standard deviation of tie length, and of the thread's end, about where this hand puts them.
    long : float
        By how much every blank is tied longer than the sheet wants, whatever its staple.
    staples : tuple of float
        Those it is tied on, in turn.
    leaks : tuple of six ints
        How many blanks were not airtight when they were sent, sixth by sixth of the term; wound again, they
        held.
    work_done : int
        Of `WORK_SET` sets of work.
    """

    username: str
    tie: tuple[float, float, float]
    thread: tuple[float, float, float]
    long: float = 0.0
    staples: tuple[float, ...] = (45.0,)
    leaks: tuple[int, int, int, int, int, int] = (0, 1, 0, 1, 0, 0)
    work_done: int = 4


STEADIES = Maker("bruno", tie=(0.8, 0.55, 0.32), thread=(0.5, 0.35, 0.2), work_done=6)
STAYS = Maker("ephraim", tie=(0.6, 0.6, 0.6), thread=(0.3, 0.3, 0.3), work_done=3)
TIES_LONG = Maker(
    "celandine", tie=(0.25, 0.25, 0.25), thread=(0.2, 0.2, 0.2), long=0.7, staples=(45.0, 46.0, 47.0)
)
STOPS_LEAKING = Maker(
    "dorrit", tie=(0.4, 0.4, 0.4), thread=(0.3, 0.3, 0.3), leaks=(4, 3, 3, 0, 0, 0), work_done=5
)
MAKERS = (STEADIES, STAYS, TIES_LONG, STOPS_LEAKING)
WORK_SET = 6

# days from the first playing to played out, in turn; the last reeds of each hand still play
LIVES_DAYS = (12, 7, 20, 15, 9, 28, 13, 18, 5, 22, 11, 33, 14, 8, 25, 17)
STILL_PLAYING = 2
# how the items speak when a reed is tried for the first time, by whether it will come to play
SPEAKS = {True: (2, 3, 4, 4, 5), False: (1, 2, 3, 3, 4)}
# the teacher measures and plays every so many-th reed; beside the student's own reading, mm and steps
TEACHER_EVERY = 6
TEACHER_READS = (0.05, 0.0, -0.05, 0.0)
TEACHER_RATES = (0, 1, 0, -1)
# one blank of each hand, tied on the last day, still rests: an open one
OPEN_EACH = 1
REEDS_EACH = THIRDS * REEDS_A_THIRD + OPEN_EACH
