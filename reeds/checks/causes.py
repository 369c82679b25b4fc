"""One cause, one finding: what comes of the same misread number or the same long tie is folded under it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from reeds.checks.findings import Finding, Outcome, folded

# what is longer by as much as the first is too long; arithmetic
LENGTHENS = {
    "cane_beyond_staple": ("tie_length", "overall_length"),
    "tie_length": ("overall_length",),
    "opening_height": ("opening_area",),
}
# what the staple's noted length moves, by the sheet
ON_THE_STAPLE = ("staple_length", "tie_length", "overall_length")
# the checks whose findings come of others, by the keys that stand in findings
HEARD, RECORDED, TWICE, PRINT_SCALE = "heard", "recorded", "twice", "print_scale"
BENCH = "bench"
PLAYED = (HEARD, RECORDED)
SUMS = ("sums", "order")
# what lets a tied reed leak, and what leaves its opening too wide: common practice, no source
LETS_IT_LEAK = ("blades_lie", "tied_straight")
LEAVES_IT_WIDE = ("fold_cut", "thread_force")
WIDE = ("opening_height", "opening_area")
# rows of the usual next steps
NOTHING_SPEAKS = "nothing:speaks"
PITCH_AND_EFFORT = ("flat_and_easy", "sharp_and_hard")


@dataclass(frozen=True)
class Cause:
    """Which finding can be a cause, and which others come of it."""

    is_cause: Callable[[Finding], bool]
    comes_of: Callable[[Finding, Finding], bool]


def keys_of(found: Finding) -> set[str]:
    """Return every quantity that takes part in a finding."""
    return {key for key in (found.quantity, *found.also) if key}


def side(found: Finding) -> int:
    """Return 1 over the high limit, -1 under the low one, 0 where no limit is passed for sure.

    A remark about the past has kept its numbers: with them it still says on which side it lies.
    """
    if found.outcome is Outcome.ABOVE:
        return 1
    if found.outcome is Outcome.BELOW:
        return -1
    if found.outcome is not Outcome.NOTED or found.value is None:
        return 0
    above = found.high is not None and found.value > found.high
    return 1 if above else -int(found.low is not None and found.value < found.low)


def _leaks(found: Finding) -> bool:
    return found.quantity == "airtight" and found.outcome is Outcome.DIFFERS


def _played(_head: Finding, other: Finding) -> bool:
    return other.check in PLAYED and (other.needs_attention or bool(other.next_step))


def _from_the_leak(head: Finding, other: Finding) -> bool:
    """What is heard of a reed that leaks, and what lets it leak: the two are mended together."""
    return _played(head, other) or (_at_bench(other) and other.quantity in LETS_IT_LEAK)


def _at_bench(found: Finding) -> bool:
    """What the trade says of a thing noted, be it of the past: not that it is as the sheet has it."""
    return found.check == BENCH and found.outcome in (Outcome.DIFFERS, Outcome.NOTED)


def _wide(found: Finding) -> bool:
    return found.quantity in WIDE and side(found) > 0


def _left_it_wide(_head: Finding, other: Finding) -> bool:
    return _at_bench(other) and other.quantity in LEAVES_IT_WIDE


def _wrong_staple(found: Finding) -> bool:
    return found.quantity == "staple_length" and found.is_fault


def _on_staple(_head: Finding, other: Finding) -> bool:
    moved = other.quantity in ON_THE_STAPLE or "staple_length" in other.also
    return moved and (other.needs_attention or bool(side(other)))


def _shared(head: Finding, other: Finding) -> bool:
    """What rests on a number that is in doubt; nothing that was only not measured yet."""
    if other.outcome is Outcome.MISSING or not (other.needs_attention or side(other)):
        return False
    if other.needs_attention and not head.needs_attention:
        return False
    return bool(keys_of(head) & keys_of(other))


def _lengthened(head: Finding, other: Finding) -> bool:
    downstream = other.quantity in LENGTHENS.get(head.quantity, ())
    alive = head.is_fault or not other.is_fault
    return alive and downstream and side(head) == side(other) != 0


def _was_long(head: Finding, other: Finding) -> bool:
    """A tie of the past, told under the length that it still makes too long."""
    upstream = head.quantity in LENGTHENS.get(other.quantity, ())
    return upstream and other.outcome is Outcome.NOTED and side(head) == side(other) != 0


def _shortened(_head: Finding, other: Finding) -> bool:
    return other.quantity == "overall_length" and side(other) < 0


def _pitch(_head: Finding, other: Finding) -> bool:
    return other.quantity == "a4_cents" and other.is_fault and not other.also


def _uneven(_head: Finding, other: Finding) -> bool:
    return other.quantity == "unevenness" and other.needs_attention and other.outcome is not Outcome.MISSING


def _same_item(head: Finding, other: Finding) -> bool:
    return other.check in PLAYED and other.choice == head.choice and _played(head, other)


def _sum(found: Finding) -> bool:
    """A contradiction of two lengths, be it of the past: then a remark that has kept its numbers."""
    return found.check in SUMS and found.value is not None


# the first that applies: a leak explains what is heard, a wrong number the sums it stands in
CAUSES = (
    Cause(_leaks, _from_the_leak),
    Cause(lambda one: one.step_key == NOTHING_SPEAKS, _played),
    Cause(_wrong_staple, _on_staple),
    Cause(lambda one: one.check == PRINT_SCALE, _shared),
    Cause(lambda one: one.check == TWICE, _shared),
    Cause(_sum, _shared),
    Cause(lambda one: one.quantity == "clipped" and side(one) > 0, _shortened),
    Cause(lambda one: bool(side(one)), _lengthened),
    Cause(_wide, _left_it_wide),
    Cause(lambda one: one.is_fault, _was_long),
    Cause(lambda one: one.step_key in PITCH_AND_EFFORT, _pitch),
    Cause(lambda one: one.quantity == "closing" and one.needs_attention, _uneven),
    Cause(lambda one: one.check == RECORDED and one.is_fault, _same_item),
)


def _fold(cause: Cause, findings: list[Finding]) -> list[Finding]:
    kept = findings
    for head in filter(cause.is_cause, findings):
        if not any(one is head for one in kept):
            continue
        parts = [one for one in kept if one is not head and cause.comes_of(head, one)]
        if parts:
            gone = [id(part) for part in parts]
            kept = [folded(head, parts) if one is head else one for one in kept if id(one) not in gone]
    return kept


def by_cause(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings with what comes of the same cause folded under it, in the order they came."""
    kept = list(findings)
    for cause in CAUSES:
        kept = _fold(cause, kept)
    return kept
