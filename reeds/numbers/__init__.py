"""Numbers and words that the whole app shares; nothing here knows a web framework.

Conventions of the package: lengths in millimetres, areas in square millimetres, pitch in cents (1200 to an
octave), frequencies in hertz, ratios from 0 to 1; `u` is always a standard uncertainty (k = 1) in the unit of
its value; a number is kept as it was measured and rounded only where it is written (`measured.written`).

A sentence or name for people is marked English, translated where it is shown (`words`); what cannot be taken
is a `refusal.Refused` with such a sentence.
"""
