"""What is heard in a playing test; the items in the order they are played."""

from reeds.words import gettext_noop as _

PLAYING_TEST: dict[str, str] = {
    "crow": _("crow, the reed alone"),
    "low_notes": _("low notes, softly"),
    "staccato": _("staccato on one note"),
    "third_octave": _("third octave"),
    "long_tone": _("long tone, soft, loud, soft"),
    "tuning": _("tuning note"),
}
