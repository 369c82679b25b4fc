"""Rows on single notes: beside the reference, another list than asked, attacks, long tones, the crow."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reeds.checks.findings import Outcome
from reeds.numbers.notes import note_name
from tests.rooms.listening import Told, findings, readings
from tests.rooms.rows.line import ELSE, LOWER, ORDER, WHY, Case, Cases, Line, responses
from tests.rooms.truth import RoomTake

# --- beside the reference ----------------------------------------------------------------------------------


BESIDE = ("piano", "speech", "tone", "hall", "other voices", "other music", "other hall")


def beside(cases: Cases) -> Iterator[Line]:
    found = {condition: _pairs(cases(condition)) for condition in BESIDE}
    for condition, figures in found.items():
        reached = _of_pairs(figures) + f"; says what else in {figures['says']:.0f}"
        must = "a step that cannot be undone in none; <= 5 % of told responses wrong"
        met = figures["steps"] == 0 and not figures["wrong"] > 0.05 * figures["told"]
        yield Line(condition, must, reached, met, figures)
    of, steps, untold, why = (
        sum(one[name] for one in found.values()) for name in ("takes", "steps", "untold", "why")
    )
    reached = f"a step in {steps:.0f} of {of:.0f}"
    figures = {"n": of, "right": of - steps}
    yield Line("steps", "a step that cannot be undone in none", reached, steps == 0, figures)
    reached = f"said in {why:.0f} of {untold:.0f}"
    figures = {"n": untold, "right": why}
    yield Line("why a response is not told", "said wherever one is not", reached, why == untold, figures)
    yield from _alone(cases)


def _alone(cases: Cases) -> Iterator[Line]:
    """Where nothing else sounds: what must still be told, and that a knife asks for the reference."""
    figures = _pairs(cases("quiet"))
    must = "the same, and a response told for 90 % of the notes"
    told = figures["told"] >= 0.9 * figures["notes"]
    met = figures["steps"] == 0 and told and figures["wrong"] <= 0.05 * figures["told"]
    yield Line("quiet room", must, _of_pairs(figures), bool(met), figures)
    found = cases("slow")
    figures = _pairs(found)
    reached = f"said in {figures['later']:.0f} of {figures['takes']:.0f}"
    met = figures["later"] >= 0.9 * figures["takes"]
    yield Line("a reed that does answer later, quiet", "still said in 90 % (guard)", reached, met, figures)
    steps = sum(any(each.irreversible for each in findings(told[0], None)) for _, told in found)
    reached = f"a step in {steps} of {len(found)}, beside it in {figures['steps']:.0f}"
    figures = {"n": len(found), "right": len(found) - steps}
    yield Line("the same without a reference", "a step in none", reached, steps == 0, figures)


def _of_pairs(figures: dict[str, float]) -> str:
    return (
        f"steps {figures['steps']:.0f}, 'later' {figures['later']:.0f} of {figures['takes']:.0f}; "
        f"responses told {figures['told']:.0f} of {figures['notes']:.0f}, wrong {figures['wrong']:.0f}"
    )


def _pairs(cases: list[Case]) -> dict[str, float]:
    steps = later = says = untold = why = 0
    errors: list[tuple[float, float]] = []
    for takes, told in cases:
        own = responses(takes[0], told[0])
        found = findings(told[0], told[1])
        steps += any(each.irreversible for each in found)
        later += any(each.outcome is Outcome.ABOVE for each in found)
        says += told[0].says(*ELSE)
        is_untold = any(np.isnan(error) for error, _ in own)
        untold, why = untold + is_untold, why + (is_untold and told[0].says(*WHY))
        errors += own
    return {
        "takes": len(cases),
        "steps": steps,
        "later": later,
        "says": says,
        "untold": untold,
        "why": why,
        "notes": len(errors),
        "told": sum(np.isfinite(error) for error, _ in errors),
        "wrong": sum(bool(np.isfinite(error) and error > limit) for error, limit in errors),
    }


# --- another list than asked -------------------------------------------------------------------------------


def other_note(cases: Cases) -> Iterator[Line]:
    null = named = kept = 0
    found = cases("other note")
    for takes, told in found:
        null += told[0].item.get("cents") is None
        names = {note.get("heard") for note in told[0].notes} | {told[0].item.get("heard")}
        named += note_name(takes[0].played[0].number) in names
        kept += bool(readings(told[0]))
    figures = {"takes": len(found), "null": null, "named": named, "readings": kept}
    reached = f"null {null}, named {named}, readings {kept} of {len(found)}"
    met = null == named == len(found) and kept == 0
    yield Line("A5 or G4 for the tuning note", "cents null, `heard`, no reading", reached, met, figures)


def lists(cases: Cases) -> Iterator[Line]:
    for condition in ("talk before", "talk after", "repeated", "wrong first", "played right"):
        sounding = silent = deaf = spoke = 0
        for takes, told in cases(condition):
            truly = {played.number for played in takes[0].played}
            for number, note in zip(takes[0].asked, told[0].notes, strict=True):
                silent, spoke = silent + (number not in truly), spoke + (number in truly)
                sounding += number not in truly and note["sounded"]
                deaf += number in truly and not note["sounded"]
        figures = {"n": silent, "right": silent - sounding, "sounding": spoke, "said silent": deaf}
        reached = f"said to sound {sounding} of {silent} silent; said silent {deaf} of {spoke} that sounded"
        met = sounding <= 0.02 * silent and deaf <= 0.02 * spoke
        yield Line(condition, "<= 2 % of either", reached, met, figures)
    yield _one_silent(cases)


def _one_silent(cases: Cases) -> Line:
    """One note of one take gives no step that cannot be undone, though the reference spoke all."""
    beside_it = [told[0] for _, told in cases("played right")]
    found = [told[0] for condition in ("repeated", "wrong first") for _, told in cases(condition)]
    pairs = list(zip(found, 2 * beside_it, strict=True))
    steps = sum(any(each.irreversible for each in findings(own, other)) for own, other in pairs)
    figures = {"n": len(pairs), "right": len(pairs) - steps}
    reached = f"a step in {steps} of {len(pairs)}"
    return Line("one silent note, reference right", "a step in none", reached, steps == 0, figures)


def moved(cases: Cases) -> Iterator[Line]:
    for condition, words in (("tone low", LOWER), ("swapped", ORDER)):
        steps = named = 0
        found = cases(condition)
        for (_, told), (_, reference) in zip(found, cases("played right"), strict=True):
            steps += any(each.irreversible for each in findings(told[0], reference[0]))
            named += told[0].says(*words)
        figures = {"n": len(found), "right": named, "steps": steps}
        reached = f"steps {steps}, named {named} of {len(found)}"
        met = steps == 0 and named >= 0.95 * len(found)
        yield Line(condition, "named (95 %), no step", reached, met, figures)


# --- attacks, long tones, crow -----------------------------------------------------------------------------


def attacks(cases: Cases) -> Iterator[Line]:
    for condition in ("vibrato", "attacks"):
        errors = [one for takes, told in cases(condition) for one in responses(takes[0], told[0])]
        null = sum(bool(np.isnan(error)) for error, _ in errors)
        good = sum(bool(error <= limit) for error, limit in errors)
        late = float(np.nanpercentile([error / limit for error, limit in errors], 95))
        figures = {"notes": len(errors), "null": null, "within": good, "late": late}
        reached = (
            f"within in {good}, null {null} of {len(errors)}; 95th percentile at {late:.1f} of the limit"
        )
        must = "within the larger of 15 ms and 20 % in 95 %"
        yield Line(condition, must, reached, good >= 0.95 * len(errors), figures)


def tremolo(cases: Cases) -> Iterator[Line]:
    found = cases("tremolo")
    counts = [sum(note["sounded"] for note in told[0].notes) for _, told in found]
    one = sum(count == 1 for count in counts)
    figures = {"takes": len(found), "one": one, "most": max(counts)}
    yield Line(
        "tremolo of 6 to 12 dB",
        "one note",
        f"one in {one} of {len(found)}, at most {max(counts)}",
        one == len(found),
        figures,
    )


CROWS = (
    "crow of three",
    "crow from 200 Hz",
    "crow of two",
    "crow of two from 200 Hz",
    "crow of one",
    "crow talk",
)


def crow(cases: Cases) -> Iterator[Line]:
    for condition in CROWS:
        found = cases(condition)
        exact = sum(_crow_right(takes[0], told[0]) for takes, told in found)
        others = sorted({" ".join(p["name"] for p in told[0].item.get("pitches", [])) for _, told in found})
        reached = f"exact in {exact} of {len(found)} ({', '.join(others[:4])})"
        yield Line(
            condition,
            "all and no other, within 30 cents, in 95 %",
            reached,
            exact >= 0.95 * len(found),
            {"n": len(found), "right": exact},
        )
    yield _crow_in_room(cases("crow in a room"))


def _crow_in_room(found: list[Case]) -> Line:
    right = [_crow_right(takes[0], told[0]) for takes, told in found]
    said = [told[0].item.get("octave", "") is None for _, told in found]
    wrong = sum(not (one or other) for one, other in zip(right, said, strict=True))
    figures = {"takes": len(found), "exact": sum(right), "untold": sum(said), "wrong": wrong}
    reached = f"exact in {sum(right)} of {len(found)}; said to be untold in {sum(said)}; wrong unsaid {wrong}"
    return Line("crow in a room to 0.6 s", "reported", reached, None, figures)


def _crow_right(take: RoomTake, told: Told) -> bool:
    true = sorted(take.a4_hz * 2 ** ((p.number - 69 + (p.cents or 0.0) / 100.0) / 12.0) for p in take.played)
    heard = sorted(pitch["hz"] for pitch in told.item.get("pitches", []))
    return len(true) == len(heard) and all(
        abs(1200 * np.log2(a / b)) < 30 for a, b in zip(true, heard, strict=True)
    )
