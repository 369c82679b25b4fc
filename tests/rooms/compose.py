"""Puts strokes, other sounds, room and phone together to one take, and writes down what is true of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from tests.rooms import font
from tests.rooms.around import SOUNDS, loudness
from tests.rooms.box import impulse, in_room, noise_impulse
from tests.rooms.phone import Phone, through
from tests.rooms.reed import RATE, Colour, Curves, Stroke, blown, curves_of
from tests.rooms.truth import Besides, Played, RoomTake, Tried

A4_HZ = 442.0
_NEXT_DOOR = ("piano", "band")
_NO_PLACE = ("tone", "pink")


@dataclass(frozen=True)
class Scene:
    """Everything that happens, before anything sounds.

    `besides` holds kind, level, start and end of what else sounds; an end of inf lasts as long as the take.
    `oboe` is "model" or "font": the font's notes have a pitch and an attack of their own. `room` is "box" or
    "noise".
    """

    item: str
    asked: tuple[int, ...]
    strokes: Sequence[Stroke]
    colour: Colour
    besides: Sequence[Besides] = ()
    rt60_s: float = 0.0
    drr_db: float = 0.0
    floor_db: float = -55.0
    phone: Phone = field(default_factory=Phone)
    oboe: str = "model"
    peak: float = 0.4
    room: str = "box"
    marks: dict[str, object] = field(default_factory=dict)


def hz_of(number: int, cents: float = 0.0) -> float:
    return A4_HZ * 2.0 ** ((number - 69 + cents / 100.0) / 12.0)


def composed(scene: Scene, rng: np.random.Generator) -> RoomTake:
    """The take. The oboe's level, to which all others are stated, is its RMS while it sounds, in the room."""
    response, place = _room(scene, rng), int(rng.integers(2**31))
    last = max(
        [s.start_s + s.length_s for s in scene.strokes] + [b.end_s for b in scene.besides if b.end_s < 1e3]
    )
    seconds = last + 0.8 + 0.7 * scene.rt60_s
    dry, bent = _oboe(scene, seconds, rng)
    oboe = in_room(dry, response)
    level = _level_while_sounding(oboe, scene)
    others = [_other(besides, level, seconds, (scene.rt60_s, place), rng) for besides in scene.besides]
    floor = _floor(level, scene.floor_db, len(dry), rng)
    mixed = sum((sound for sound, _ in others), oboe + floor)
    gain = scene.peak / np.abs(mixed).max()
    floor_power = (level * 10.0 ** (scene.floor_db / 20.0)) ** 2
    strokes = tuple(
        _truth(stroke, curves, gain * oboe, floor_power)
        for stroke, curves in zip(scene.strokes, bent, strict=True)
    )
    if scene.oboe == "font":
        strokes = tuple(_without_figures(stroke) for stroke in strokes)
    return RoomTake(
        through(gain * mixed, scene.phone),
        scene.phone.rate,
        scene.item,
        scene.asked,
        A4_HZ,
        strokes,
        tuple(besides for _, besides in others),
        scene.rt60_s,
        scene.drr_db,
        scene.floor_db,
        scene.phone.codec,
        scene.phone.band_hz,
        scene.oboe,
        scene.marks,
    )


def _room(scene: Scene, rng: np.random.Generator) -> np.ndarray | None:
    made = noise_impulse if scene.room == "noise" else impulse
    return made(scene.rt60_s, scene.drr_db, int(rng.integers(2**31))) if scene.rt60_s else None


def _oboe(scene: Scene, seconds: float, rng: np.random.Generator) -> tuple[np.ndarray, list[Curves]]:
    out, bent = np.zeros(round(seconds * RATE)), []
    for stroke in scene.strokes:
        curves = curves_of(stroke, rng)
        font_too = scene.oboe == "font" and stroke.spoke
        lead_s = 0.0 if font_too else stroke.air_s
        sound = (
            stroke.level * font.oboe_note(stroke.number, stroke.length_s)
            if font_too
            else blown(stroke, curves, scene.colour, rng)
        )
        first = round((stroke.start_s - lead_s) * RATE)
        out[first : first + len(sound)] += sound[: len(out) - first]
        bent.append(curves)
    return out, bent


def _level_while_sounding(x: np.ndarray, scene: Scene) -> float:
    spans = [(s.start_s, s.start_s + s.length_s) for s in scene.strokes if s.spoke] or [(0.0, len(x) / RATE)]
    return float(
        np.sqrt(np.mean(np.concatenate([x[round(a * RATE) : round(b * RATE)] for a, b in spans]) ** 2))
    )


def _other(
    besides: Besides, level: float, seconds: float, room: tuple[float, int], rng: np.random.Generator
) -> tuple[np.ndarray, Besides]:
    """The sound on a take of so many seconds, in the same room at another place; and it with its true end."""
    end = min(besides.end_s, seconds)
    x = np.zeros(round(seconds * RATE))
    sound = SOUNDS[besides.kind](end - besides.start_s, rng)
    first = round(besides.start_s * RATE)
    part = sound[: len(x) - first]
    x[first : first + len(part)] = part
    if besides.kind in _NEXT_DOOR:
        x = in_room(x, impulse(max(room[0], 0.5), -12.0, room[1]))
    elif room[0] and besides.kind not in _NO_PLACE:
        x = in_room(x, impulse(room[0], -2.0, room[1]))
    scaled = x * level * 10.0 ** (besides.level_db / 20.0) / loudness(x)
    return scaled, replace(besides, end_s=end)


def _floor(level: float, floor_db: float, n: int, rng: np.random.Generator) -> np.ndarray:
    """Air of a quiet room: pink, and a little white of the microphone itself."""
    air = SOUNDS["pink"](n / RATE, rng)[:n]
    noise = air / air.std() + 0.2 * rng.normal(size=n)
    return noise * level * 10.0 ** (floor_db / 20.0) / noise.std()


def _truth(stroke: Stroke, curves: Curves, oboe: np.ndarray, floor_power: float) -> Played | Tried:
    end = stroke.start_s + stroke.length_s
    if not stroke.spoke:
        return Tried(stroke.number, stroke.start_s - stroke.air_s, end)
    settled, first = _settled(curves), _heard_from_s(stroke, curves, floor_power)
    full = _settled_part(curves)
    cents = curves.cents[full] + 1200.0 * np.log2(stroke.hz / hz_of(stroke.number))
    slope, middle = np.polyfit(curves.t[full], cents, 1)
    level, span = _levels(oboe[round(stroke.start_s * RATE) : round(end * RATE)])
    return Played(
        stroke.number,
        stroke.start_s - stroke.air_s,
        stroke.start_s,
        end,
        float(cents.mean()),
        float(1000.0 * (curves.t[settled] - first)),
        1000.0 * stroke.rise_s,
        float(np.std(cents - slope * curves.t[full] - middle)),
        float(slope),
        level,
        span,
    )


def _settled(curves: Curves) -> int:
    """First millisecond after which the trends stay by their medians, until the end of the note begins."""
    db, cents = curves.trend_db, curves.trend_cents
    near = (db >= np.median(db) - 3.0) & (np.abs(cents - np.median(cents)) <= 20.0)
    half = len(near) // 2
    off = np.flatnonzero(~near[:half])
    return int(off[-1]) + 1 if len(off) else 0


def _settled_part(curves: Curves) -> slice:
    """First to last millisecond with level and pitch within 3 dB and 20 cents of their medians."""
    db, cents = curves.trend_db, curves.trend_cents
    near = np.flatnonzero((db >= np.median(db) - 3.0) & (np.abs(cents - np.median(cents)) <= 20.0))
    return slice(int(near[0]), int(near[-1]) + 1)


def _heard_from_s(stroke: Stroke, curves: Curves, floor_power: float) -> float:
    """When the player is first heard over the floor, seconds from the first instant of the tone."""
    power = stroke.level**2
    if stroke.air_s and power * 10.0 ** (stroke.air_db / 10.0) > 3.0 * floor_power:
        return -stroke.air_s
    over = np.flatnonzero(power * 10.0 ** (curves.trend_db / 10.0) > 3.0 * floor_power)
    return float(curves.t[over[0]]) if len(over) else 0.0


def _levels(tone: np.ndarray) -> tuple[float, float]:
    """Median level over 12 ms, dB; loudest over softest 100 ms between 100 ms from both ends."""
    short, long = (
        tone[: len(tone) // n * n].reshape(-1, n) for n in (round(0.012 * RATE), round(0.1 * RATE))
    )
    level = 10.0 * np.log10(np.median((short**2).mean(axis=1)) + 1e-20)
    inner = (long**2).mean(axis=1)[1:-1] + 1e-20
    span = 10.0 * np.log10(inner.max() / inner.min()) if len(inner) > 1 else 0.0
    return float(level), float(span)


def _without_figures(stroke: Played | Tried) -> Played | Tried:
    """A font's note has a pitch and an attack that nobody stated."""
    if isinstance(stroke, Tried):
        return stroke
    return replace(
        stroke,
        air_s=stroke.start_s,
        cents=None,
        answer_ms=None,
        rise_ms=None,
        sd_cents=None,
        drift_cents_per_s=None,
    )
