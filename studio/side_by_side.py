"""Steps in lanes: the lanes side by side, a lane's steps one after another, all told in one order.

Each writes to a file of its own. The first that has not ended is shown as it runs; what those behind it say
is shown whole once it is their turn.
"""

from __future__ import annotations

import codecs
import signal
from collections.abc import Callable, Sequence
from pathlib import Path

from studio.children import GRACE_S, Child, Stopped, stop


class Underway:
    """A step that waits, runs or has ended; its program writes to the file `said`."""

    def __init__(self, name: str, child: Child, said: Path) -> None:
        self.name, self.child, self.said = name, child, said
        self.took_s: float | None = None

    @property
    def holds(self) -> bool:
        return self.took_s is not None and self.child.wait() == 0

    def go_on(self) -> bool:
        """Start it if it waits; return whether it has ended."""
        if self.child.process is None:
            self.child.start()
        elif self.took_s is None and not self.child.is_alive:
            self.took_s = self.child.lived_s
        return self.took_s is not None


def run(
    lanes: Sequence[Sequence[Underway]], tell: Callable[[str], None], pause: Callable[[], None]
) -> list[str]:
    """Run and tell all of them; return the names of those that do not hold.

    Only `pause`, called while nothing is being started, may raise `Stopped`: a program whose start is
    interrupted would run on, known to nobody.
    """
    steps = [step for lane in lanes for step in lane]
    try:
        for step in steps:
            _tell(step, lanes, tell, pause)
    except Stopped:
        for step in steps:
            step.child.send(signal.SIGINT)  # to all of its group: what a test started ends what it started
        for step in steps:
            step.child.wait(GRACE_S)
        raise
    finally:
        stop([step.child for step in steps])
    return [step.name for step in steps if not step.holds]


def _go_on(lanes: Sequence[Sequence[Underway]]) -> None:
    """In every lane look at the steps up to the one that runs, or starts now."""
    for lane in lanes:
        all(step.go_on() for step in lane)


def _tell(
    step: Underway,
    lanes: Sequence[Sequence[Underway]],
    tell: Callable[[str], None],
    pause: Callable[[], None],
) -> None:
    tell(f"\n== {step.name}\n")
    _go_on(lanes)
    with step.said.open("rb") as file:
        said = codecs.getreader("utf-8")(file, "replace")
        while step.took_s is None:
            tell(said.read())
            pause()
            _go_on(lanes)
        tell(said.read())
    tell(f"-- {step.name}: {'ok' if step.holds else 'FAILED'}, {step.took_s:.0f} s\n")
