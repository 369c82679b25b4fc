"""Rows on the recording itself: its band, what is no number, what else was heard in it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.rooms.conditions import made
from tests.rooms.listening import Told, listened
from tests.rooms.phone import float_file
from tests.rooms.rows.line import BAND, ELSE, Cases, Line


def band(cases: Cases) -> Iterator[Line]:
    for condition in ("soft low", "soft low coded", "staccato soft", "staccato dry", "staccato telephone"):
        # a file of 16 kHz carries more than a telephone's band too; of strokes nothing depends on it
        found = cases(condition)
        false = sum(told[0].says(*BAND) for _, told in found)
        yield Line(
            condition,
            "false in <= 1 %",
            f"said in {false} of {len(found)}",
            false <= 0.01 * len(found),
            {"takes": len(found), "false": false},
        )
    found = cases("telephone")
    said = sum(told[0].says(*BAND) for _, told in found)
    yield Line(
        "a telephone's band",
        "no bound",
        f"said in {said} of {len(found)}",
        None,
        {"takes": len(found), "said": said},
    )


def no_number(_cases: Cases) -> Iterator[Line]:
    """A hole of 200 samples that are no number, in takes of their own."""
    refused, of = 0, 5
    for seed in range(of):
        take = made("quiet", seed)[0]
        broken = take.samples.copy()
        broken[len(broken) // 3 : len(broken) // 3 + 200] = np.nan
        refused += bool(listened(take, float_file(broken, take.rate)).refused)
    figures = {"takes": of, "refused": refused}
    yield Line("float WAV with NaN", "refused", f"refused {refused} of {of}", refused == of, figures)


def what_else(cases: Cases) -> Iterator[Line]:
    loud = (
        "piano",
        "speech",
        "tone",
        "talk before",
        "talk after",
        "staccato voices",
        "staccato metronome",
        "staccato babble",
        "tuning talk",
        "long tone talk",
        "crow talk",
    )
    for condition in loud:
        found = [told[0] for takes, told in cases(condition) if takes[0].besides[0].level_db > -24.0]
        said = sum(told.says(*ELSE) for told in found)
        yield Line(
            condition,
            "said in 90 % over -24 dB",
            f"said in {said} of {len(found)}",
            said >= 0.9 * len(found) if found else None,
            {"takes": len(found), "said": said},
        )
    yield from _which_and_when(cases)
    quiet = ("quiet", "played right", "staccato dry", "attacks", "vibrato", "tremolo", "hall", "crow of two")
    for condition in quiet:
        found = [told[0] for _, told in cases(condition)]
        false = sum(told.says(*ELSE) for told in found)
        yield Line(
            f"nothing else: {condition}",
            "said in <= 2 %",
            f"said in {false} of {len(found)}",
            false <= 0.02 * len(found),
            {"takes": len(found), "false": false},
        )


def _which_and_when(cases: Cases) -> Iterator[Line]:
    """That what else sounds is called by its pitch, and by when it begins."""
    loud = [told[0] for takes, told in cases("tone") if takes[0].besides[0].level_db > -24.0]
    right = sum(_has_tone(told, 220.0) for told in loud)
    reached, figures = f"so called in {right} of {len(loud)}", {"n": len(loud), "right": right}
    met = right >= 0.9 * len(loud) if loud else None
    yield Line("tone of 220 Hz, its pitch", "within 3 Hz in 90 %", reached, met, figures)
    for condition in ("talk before", "talk after"):
        found = cases(condition)
        right = sum(_begins_at(told[0], takes[0].besides[0].start_s) for takes, told in found)
        reached, figures = f"so said in {right} of {len(found)}", {"n": len(found), "right": right}
        yield Line(
            f"{condition}, from when", "within 1 s in 90 %", reached, right >= 0.9 * len(found), figures
        )


def _has_tone(told: Told, hz: float) -> bool:
    return any(one["kind"] == "tone" and abs(one["hz"] - hz) <= 3.0 for one in told.result["also"])


def _begins_at(told: Told, start_s: float) -> bool:
    return any(
        one["kind"] == "voices" and abs(one["start_s"] - start_s) <= 1.0 for one in told.result["also"]
    )
