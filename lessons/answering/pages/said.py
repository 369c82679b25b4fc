"""The sentences that the review page's script says, in the reader's language."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from lessons.answering.annotation import Kind


def sentences() -> dict[str, Any]:
    """Return them by the names the script knows."""
    return {
        **keeping(),
        "tool_move": _("Drag to move, wheel or two fingers to zoom. A click on a mark chooses it."),
        "tool_point": _("Click, or set the cross with Enter."),
        "tool_line": _("Drag from end to end, or click both ends."),
        "tool_line_measured": _(
            "Drag from end to end, or click both ends: this photo was measured, so its lengths are known."
        ),
        "tool_line_found": _(
            "Drag from end to end, or click both ends. The card was found and nobody has set its points: "
            "lengths go by a reed's usual height and a printer's usual error, as their doubt says."
        ),
        "about": _("about %s"),
        "tool_arrow": _("Drag from the tail to the tip, or click both."),
        "tool_outline": _("Draw round it."),
        "tool_freehand": _("Draw."),
        "tool_scale": _("Drag along something whose length you know."),
        "hint_drag": _("Draw it with the button or the finger held down."),
        "hint_small": _("That was too small. Draw it again, larger."),
        "hint_more": _("An outline wants at least three corners: move the cross on and press Enter."),
        "hint_known": _("Type the known length in millimetres, more than 0 and up to 500."),
        "kinds": {kind.value: _(kind.label) for kind in Kind},
    }


def keeping() -> dict[str, str]:
    """Return what is said while marks and words are kept, and of spans of a recording."""
    return {
        "marks_saving": _("Keeping the marks…"),
        "marks_kept": _("Marks kept."),
        "marks_later": _("Not kept yet: no connection. It is tried again; leave this page open."),
        "marks_unkept": _("Not sent: a mark is not kept yet, see below the photo. Try again in a moment."),
        "span_begun": _("It begins here. Move on, then press Enter where it ends."),
        "span_short": _("This span is too short. Drag over what you mean."),
        "span_seconds": _("Type from and to in seconds, such as 1.2 and 2.5."),
        "span_change": _("change"),
        "marks_stale": _("Not kept: this page is out of date. Copy your words and load it again."),
        "kept": _("Draft kept"),
        "later": _("Not kept yet: no connection. It is tried again."),
        "unsent": _("Not sent: no connection. Everything is still here; try again."),
        "phrase_kept": _("Kept among your usual words."),
    }
