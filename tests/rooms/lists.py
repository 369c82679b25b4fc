"""Takes of single notes: lists played well and badly, with something else beside them, vibrato, tuning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.rooms.compose import Scene, composed, hz_of
from tests.rooms.phone import PHONES, TELEPHONE, Phone
from tests.rooms.reed import Colour, Stroke, a_colour
from tests.rooms.truth import Besides, RoomTake

LOW, HIGH = (62, 60, 59, 58), (84, 86)
Takes = tuple[RoomTake, ...]
Rng = np.random.Generator


def _any_phone(rng: Rng) -> Phone:
    return PHONES[int(rng.integers(len(PHONES)))]


def _any_oboe(rng: Rng) -> str:
    return str(rng.choice(["model", "model", "font"]))


def stroke_at(number: int, start_s: float, rng: Rng, rise_s: tuple[float, float] = (0.02, 0.07)) -> Stroke:
    """A note as a student plays it with care, of 0.8 to 1.4 s."""
    return Stroke(
        hz=hz_of(number, rng.normal(0.0, 8.0)),
        number=number,
        start_s=start_s,
        length_s=rng.uniform(0.8, 1.4),
        level=0.1 * 10 ** (rng.normal(0.0, 1.0) / 20),
        rise_s=rng.uniform(*rise_s),
        fall_s=rng.uniform(0.03, 0.08),
        air_s=rng.uniform(0.03, 0.1),
        air_db=rng.uniform(-32, -22),
        scoop_cents=rng.uniform(0, 15),
        restless=rng.uniform(0.3, 2.0),
        crack_db=rng.choice([None, rng.uniform(-20, -12)]),
    )


def in_a_row(
    numbers: tuple[int, ...], rng: Rng, first_s: float = 0.0, **rest: tuple[float, float]
) -> list[Stroke]:
    """The notes one after another, with pauses of 0.3 to 0.7 s."""
    strokes, at = [], first_s + rng.uniform(0.6, 1.2)
    for number in numbers:
        strokes.append(stroke_at(number, at, rng, **rest))
        at += strokes[-1].length_s + rng.uniform(0.3, 0.7)
    return strokes


def _end(strokes: list[Stroke]) -> float:
    return strokes[-1].start_s + strokes[-1].length_s


# --- beside the reference ----------------------------------------------------------------------------------


def beside_reference(rng: Rng, own: dict[str, object], slow: bool = False) -> Takes:
    """One player, two reeds that answer alike (or the first much later); the reference in a quiet room."""
    colour, phone, rise = a_colour(rng), _any_phone(rng), rng.uniform(0.02, 0.06)
    item, asked = ("low_notes", LOW) if rng.random() < 0.7 else ("third_octave", HIGH)
    quick = (0.9 * rise, 1.1 * rise)
    pair = [own, {}]
    return tuple(
        composed(
            Scene(
                item,
                asked,
                in_a_row(asked, rng, rise_s=(0.25, 0.4) if slow and which == 0 else quick),
                colour,
                phone=phone,
                floor_db=rng.uniform(-62, -48),
                **rest,
            ),
            rng,
        )
        for which, rest in enumerate(pair)
    )


def piano_next_door(rng: Rng) -> Takes:
    return beside_reference(rng, {"besides": [Besides("piano", rng.uniform(-30, -10), 0.0, np.inf)]})


def speech_under(rng: Rng) -> Takes:
    return beside_reference(rng, {"besides": [Besides("speech", rng.uniform(-30, -14), 0.0, np.inf)]})


def hall(rng: Rng) -> Takes:
    return beside_reference(rng, {"rt60_s": rng.uniform(1.2, 2.0), "drr_db": rng.uniform(-6, 4)})


def tone_besides(rng: Rng) -> Takes:
    return beside_reference(rng, {"besides": [Besides("tone", rng.uniform(-30, -14), 0.0, np.inf, 220.0)]})


def quiet(rng: Rng) -> Takes:
    return beside_reference(rng, {"rt60_s": rng.choice([0.0, 0.3])})


def slow_reed(rng: Rng) -> Takes:
    """What must still be said when nothing else sounds: this reed does answer later."""
    return beside_reference(rng, {}, slow=True)


# --- another list than asked -------------------------------------------------------------------------------


def _played_badly(
    strokes: list[Stroke], rng: Rng, besides: list[Besides] | None = None, asked: tuple[int, ...] = LOW
) -> Takes:
    scene = Scene(
        "low_notes",
        asked,
        strokes,
        a_colour(rng),
        besides or [],
        phone=_any_phone(rng),
        oboe=_any_oboe(rng),
        rt60_s=float(rng.choice([0.0, 0.3, 0.5])),
        drr_db=rng.uniform(-2, 4),
        floor_db=rng.uniform(-60, -45),
    )
    return (composed(scene, rng),)


def _one_silent(strokes: list[Stroke], rng: Rng, among: range) -> list[Stroke]:
    """One of the strokes, the last one mostly, gives only air."""
    which = among[-1] if rng.random() < 0.6 else int(rng.choice(list(among)))
    air = {"spoke": False, "air_db": rng.uniform(-28, -16)}
    return [replace(stroke, **air) if i == which else stroke for i, stroke in enumerate(strokes)]


def talk_before(rng: Rng) -> Takes:
    talk = rng.uniform(1.5, 4.0)
    strokes = _one_silent(in_a_row(LOW, rng, talk), rng, range(4))
    return _played_badly(strokes, rng, [Besides("speech", rng.uniform(-14, 0), 0.2, 0.2 + talk)])


def talk_after(rng: Rng) -> Takes:
    strokes = _one_silent(in_a_row(LOW, rng), rng, range(4))
    start = _end(strokes) + rng.uniform(0.2, 0.6)
    return _played_badly(
        strokes, rng, [Besides("speech", rng.uniform(-14, 0), start, start + rng.uniform(1.5, 4.0))]
    )


def repeated(rng: Rng) -> Takes:
    """One note comes twice; another one, never that, is silent."""
    twice = int(rng.integers(0, 3))
    numbers = (*LOW[: twice + 1], *LOW[twice:])
    strokes = in_a_row(numbers, rng)
    silent = int(rng.choice([i for i in range(5) if i not in (twice, twice + 1)]))
    return _played_badly([replace(s, spoke=i != silent) for i, s in enumerate(strokes)], rng)


def wrong_first(rng: Rng) -> Takes:
    """A wrong note, sometimes short, before the list; one note of the list is silent."""
    wrong = int(rng.choice([64, 65, 67, 63, 61, 57 + 12]))
    strokes = in_a_row((wrong, *LOW), rng)
    if rng.random() < 0.4:
        strokes[0] = replace(strokes[0], length_s=rng.uniform(0.15, 0.4))
    return _played_badly(_one_silent(strokes, rng, range(1, 5)), rng)


def played_right(rng: Rng) -> Takes:
    """As asked, nothing else: what must not be called silent."""
    return _played_badly(in_a_row(LOW, rng), rng)


def tone_low(rng: Rng) -> Takes:
    """All a tone low, as by another list; an oboe's lowest is Bb3, so what is asked lies a tone higher."""
    asked = tuple(number + 2 for number in LOW)
    off = rng.normal(0.0, 12.0)
    strokes = [replace(s, hz=hz_of(s.number, off + rng.normal(0.0, 6.0))) for s in in_a_row(LOW, rng)]
    return _played_badly(strokes, rng, asked=asked)


def swapped(rng: Rng) -> Takes:
    first = int(rng.integers(0, 3))
    order = list(LOW)
    order[first], order[first + 1] = order[first + 1], order[first]
    return _played_badly(in_a_row(tuple(order), rng), rng)


def other_note(rng: Rng) -> Takes:
    """Another note than the tuning note."""
    number = int(rng.choice([81, 67]))
    stroke = replace(stroke_at(number, 0.8, rng), length_s=rng.uniform(2.0, 2.9))
    scene = Scene("tuning", (69,), [stroke], a_colour(rng), phone=_any_phone(rng), oboe=_any_oboe(rng))
    return (composed(scene, rng),)


# --- attacks -----------------------------------------------------------------------------------------------

_MIDDLE = (62, 65, 67, 69, 72, 74, 77)


def _attacks(rng: Rng, vibrates: bool) -> Takes:
    asked = tuple(int(number) for number in rng.choice(_MIDDLE, 5))
    strokes = []
    for stroke in in_a_row(asked, rng):
        moved = replace(
            stroke,
            length_s=stroke.length_s + 0.5,
            rise_s=float(np.exp(rng.uniform(np.log(0.01), np.log(0.4)))),
            air_s=rng.uniform(0.02, 0.08),
            scoop_cents=rng.uniform(0, 40),
            scoop_s=rng.uniform(0.01, 0.06),
        )
        strokes.append(_vibrating(moved, rng) if vibrates else moved)
    later = [replace(s, start_s=s.start_s + 0.5 * i) for i, s in enumerate(strokes)]
    scene = Scene(
        "third_octave",
        asked,
        later,
        a_colour(rng),
        phone=PHONES[int(rng.integers(2, 5))],
        floor_db=rng.uniform(-62, -50),
    )
    return (composed(scene, rng),)


def _vibrating(stroke: Stroke, rng: Rng) -> Stroke:
    swing = {"vibrato_cents": rng.uniform(15, 40), "vibrato_hz": rng.uniform(4.5, 6.5)}
    return replace(stroke, rise_s=rng.uniform(0.015, 0.06), trill_db=rng.uniform(0, 10), **swing)


def vibrato(rng: Rng) -> Takes:
    return _attacks(rng, vibrates=True)


def attacks(rng: Rng) -> Takes:
    return _attacks(rng, vibrates=False)


# --- long tones, crow, band --------------------------------------------------------------------------------


def _one(item: str, asked: tuple[int, ...], strokes: list[Stroke], rng: Rng, **rest: object) -> Takes:
    return (composed(Scene(item, asked, strokes, a_colour(rng), **{"phone": _any_phone(rng), **rest}), rng),)


def tremolo(rng: Rng) -> Takes:
    """A long note whose level swings by 6 to 12 dB."""
    swing = {
        "trill_db": rng.uniform(6, 12),
        "vibrato_hz": rng.uniform(3.5, 7.0),
        "vibrato_cents": rng.uniform(0, 15),
    }
    stroke = replace(stroke_at(69, 0.8, rng), length_s=rng.uniform(4, 7), swell_db=rng.uniform(0, 6), **swing)
    return _one(
        "long_tone",
        (69,),
        [stroke],
        rng,
        rt60_s=float(rng.choice([0.0, 0.3, 0.6])),
        drr_db=rng.uniform(-2, 4),
    )


def _long_tones(rng: Rng, restless: tuple[float, float]) -> Takes:
    strokes = [
        replace(
            stroke,
            length_s=3.5 - i,
            restless=rng.uniform(*restless),
            drift=rng.normal(0, 2),
            scoop_cents=0.0,
            swell_db=rng.uniform(0, 12),
            start_s=0.8 + 4.5 * i,
        )
        for i, stroke in enumerate(in_a_row((69, 67), rng))
    ]
    return _one("long_tone", (69,), strokes[: int(rng.integers(1, 3))], rng, floor_db=rng.uniform(-62, -45))


def quiet_tones(rng: Rng) -> Takes:
    return _long_tones(rng, (0.1, 0.6))


def restless_tones(rng: Rng) -> Takes:
    return _long_tones(rng, (2.0, 6.0))


def crowing(rng: Rng, numbers: tuple[int, ...]) -> Scene:
    """A reed alone: each pitch rattles for itself, and none is quite an octave from the other."""
    length, off = rng.uniform(1.2, 2.5), rng.uniform(-40, 40)
    strokes = [
        Stroke(
            hz_of(number, off + rng.uniform(-20, 20)),
            number,
            0.7,
            length,
            level=0.1 * 10 ** (rng.uniform(-3, 3) / 20),
            restless=rng.uniform(1, 4),
            air_s=0.05,
            fall_s=0.06,
        )
        for number in numbers
    ]
    colour = replace(a_colour(rng), jitter=0.004, body_db=0.0, hiss_db=-30.0)
    return Scene("crow", (), strokes, colour, phone=_any_phone(rng))


def crow_three(rng: Rng) -> Takes:
    return (composed(crowing(rng, (60, 72, 84)), rng),)


def crow_low(rng: Rng) -> Takes:
    """Three octaves, the lowest from just over 200 Hz on."""
    lowest = int(rng.integers(56, 63))
    return (composed(crowing(rng, (lowest, lowest + 12, lowest + 24)), rng),)


def crow_two_low(rng: Rng) -> Takes:
    """Two octaves as low: that nothing higher is made of their harmonics."""
    lowest = int(rng.integers(56, 63))
    return (composed(crowing(rng, (lowest, lowest + 12)), rng),)


def crow_one(rng: Rng) -> Takes:
    """One rich tone: that no octave is made of its harmonics."""
    return (composed(crowing(rng, (int(rng.integers(57, 76)),)), rng),)


def crow_in_room(rng: Rng) -> Takes:
    """One to three octaves in a room of 0.3 to 0.6 s, the phone near or far."""
    lowest, voices = int(rng.integers(57, 63)), int(rng.integers(1, 4))
    scene = crowing(rng, tuple(lowest + 12 * k for k in range(voices)))
    return (composed(replace(scene, rt60_s=rng.uniform(0.3, 0.6), drr_db=rng.uniform(-6, 4)), rng),)


def crow_two(rng: Rng) -> Takes:
    return (composed(crowing(rng, (72, 84)), rng),)


def darker(colour: Colour) -> Colour:
    """The same player, soft: the reed closes gently, and of the air little is left."""
    return replace(colour, closing_hz=0.28 * colour.closing_hz, body_db=-3.0, hiss_db=-58.0)


def soft_low(rng: Rng) -> Takes:
    """Soft low notes of a whole band: their own sound hardly goes over 5 kHz."""
    return _soft_low(rng, Phone(int(rng.choice([44100, 48000]))))


def soft_low_coded(rng: Rng) -> Takes:
    """The same as AAC or Opus, which spend few bits over what is hardly heard."""
    return _soft_low(rng, PHONES[int(rng.integers(2, 4))])


def _soft_low(rng: Rng, phone: Phone) -> Takes:
    dark = darker(a_colour(rng))
    strokes = [replace(s, crack_db=None, air_db=rng.uniform(-48, -36)) for s in in_a_row(LOW, rng)]
    return _banded(strokes, dark, phone, rng, (-66, -52))


def telephone(rng: Rng) -> Takes:
    """The same list through a telephone's band: what must be said."""
    return _banded(in_a_row(LOW, rng), a_colour(rng), TELEPHONE, rng)


def _banded(
    strokes: list[Stroke], colour: Colour, phone: Phone, rng: Rng, floor_db: tuple[float, float] = (-58, -42)
) -> Takes:
    scene = Scene(
        "low_notes",
        LOW,
        strokes,
        colour,
        phone=phone,
        floor_db=rng.uniform(*floor_db),
        peak=rng.uniform(0.05, 0.3),
    )
    return (composed(scene, rng),)
