"""From the samples of a recording to notes, cents and response: conventions of the whole package.

Samples
    float64, one channel, full scale -1 to 1; the sample axis is the only one, or the last where there are
    several rows (channels, frames, harmonics). Sample k of a rate is the instant k / rate_hz.
Frames
    Tracks stand on instants `HOP_S` (2.5 ms) apart, frame m at m * `HOP_S` seconds from the first sample;
    fine pitch stands on intervals of `FINE_STEP_S` (5 ms). A stretch is (first, after the last), as
    slices are.
Units
    Seconds, hertz, cents (1200 to the octave), dB re full scale; milliseconds only for a response. A bare
    number has its unit at the end of its name: `start_s`, `snr_db`, `drift_cents_per_s`.
Pitch
    Equal temperament on the studio's A (`a4_hz`, the frequency of A4, 415 to 446 Hz); notes are numbered
    as in MIDI, 69 for A4, and named by `reeds.numbers.notes`.
None
    Could not be told: no pitch, no pause to hear the noise in, a tone that never settled. It never means
    zero. In arrays a pitch of 0 Hz stands for no pitch, as Praat writes it.
Figures
    A `Measured` is a value with its standard uncertainty (k = 1) in the same unit.
Names
    A waveform is decoded samples, tracks are its level and pitch, a segment is one attempt at a note (its
    air and its tone), a tone what sounds of it, a note a tone that has a name.
Constants
    A module's constants say their unit in their name. 'Calibrated' ones were chosen on synthesised
    recordings so that the bounds and the stated intervals of `tests/accuracy/sound.py` hold; those without
    a word are common practice, no source.

Functions take and return arrays and frozen dataclasses and change none of their arguments. Libraries that
are slow to import (av 0.05 s, parselmouth 0.1 s, scipy 0.5 to 1.4 s) are imported where they are used:
only the worker and the command pay for them, not the pages.
"""
