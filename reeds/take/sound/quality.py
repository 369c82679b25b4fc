"""How good a recording is, and what can therefore not be told from it."""

from __future__ import annotations

from reeds.numbers.late import np
from reeds.numbers.words import gettext_noop
from reeds.take.sound.band import carried_hz, is_telephone
from reeds.take.sound.heard import Quality
from reeds.take.sound.signals import Segment, Tracks, Waveform

NOISY_SNR_DB = 6.0
SOFT_SNR_DB = 20.0
# strokes, their pace and cents are told through a telephone as well
_THROUGH_A_TELEPHONE = ("staccato", "tuning")

TOO_NOISY = gettext_noop("This recording is too noisy to tell.")
SOFT_ATTACKS_HIDDEN = gettext_noop("Noise hides soft attacks: the response may be longer than it says.")
CLIPPED = gettext_noop("The recorder overloaded: level and range cannot be told.")
NARROW = gettext_noop("The recording carries only a telephone's band: level and colour cannot be told.")
CUT_SHORT = gettext_noop("The file breaks off before its end: only what came before was heard.")
NOTHING_HEARD = gettext_noop("No note was heard in this recording.")
ELSE_SOUNDS = gettext_noop("The response cannot be told: something else sounds.")
RINGS = gettext_noop("The room rings too long to tell the response: smaller room, phone nearer.")
RINGS_TO_COUNT = gettext_noop("The room rings too long to count: smaller room, phone nearer.")
ELSE_TO_COUNT = gettext_noop("Noise or something else sounds: the notes cannot be counted.")
LOWER = gettext_noop("All notes sounded lower than asked: other notes, or another A?")
HIGHER = gettext_noop("All notes sounded higher than asked: other notes, or another A?")
ORDER = gettext_noop("Notes were played in another order than asked.")
NO_PAUSE = gettext_noop("There is no quiet moment: the noise, and when air began, cannot be told.")
# what a take with one of these told leads to no step that cannot be undone
UNCLEAR = frozenset({LOWER, HIGHER, ORDER, NO_PAUSE, SOFT_ATTACKS_HIDDEN, ELSE_SOUNDS, RINGS, CUT_SHORT})


def quality_of(
    waveform: Waveform, tracks: Tracks, segments: list[Segment], floor_db: float | None
) -> Quality:
    """Return noise, clipping and band of a recording whose segments and noise floor are known."""
    tones = [tracks.level_db[one.onset : one.end] for one in segments if one.sounded]
    snr = None
    if tones and floor_db is not None:
        power = 10.0 ** (float(np.median(np.concatenate(tones))) / 10.0) - 10.0 ** (floor_db / 10.0)
        snr = 10.0 * float(np.log10(max(power, 1e-12))) - floor_db
    return Quality(snr, waveform.clipped, floor_db, carried_hz(waveform))


def warnings_of(quality: Quality, segments: list[Segment], waveform: Waveform, item: str | None) -> list[str]:
    """Return the sentences, for translation, that say what this recording cannot tell."""
    heard = any(segment.sounded for segment in segments)
    snr = quality.snr_db
    said = [
        (waveform.cut_short, CUT_SHORT),
        (not heard, NOTHING_HEARD),
        (heard and quality.noise_db is None, NO_PAUSE),
        (snr is not None and snr < NOISY_SNR_DB, TOO_NOISY),
        (snr is not None and NOISY_SNR_DB <= snr < SOFT_SNR_DB, SOFT_ATTACKS_HIDDEN),
        (quality.clipped, CLIPPED),
        (heard and item not in _THROUGH_A_TELEPHONE and is_telephone(waveform), NARROW),
    ]
    return [sentence for applies, sentence in said if applies]
