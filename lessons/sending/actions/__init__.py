"""What a student does with a round, one function for each thing."""

from lessons.sending.actions.send import (
    Round,
    Save,
    SentMeanwhile,
    attach_photo,
    draft_of,
    holds,
    name_view,
    remove_photo,
    save_draft,
    send,
    was_taken_out,
)
from lessons.sending.actions.take import attach_take, remove_take

__all__ = [
    "Round",
    "Save",
    "SentMeanwhile",
    "attach_photo",
    "attach_take",
    "draft_of",
    "holds",
    "name_view",
    "remove_photo",
    "remove_take",
    "save_draft",
    "send",
    "was_taken_out",
]
