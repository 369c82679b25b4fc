"""What happens between student and teacher, one function for each thing."""

from lessons.actions.answer import answer_of, put_mark, send_answer, take_answer_back
from lessons.actions.lesson import choose_reeds, keep_lesson, set_work
from lessons.actions.send import (
    Round,
    Save,
    SentMeanwhile,
    attach_photo,
    draft_of,
    holds,
    name_view,
    note_read,
    remove_photo,
    reply,
    save_draft,
    send,
    was_taken_out,
)

__all__ = [
    "Round",
    "Save",
    "SentMeanwhile",
    "answer_of",
    "attach_photo",
    "choose_reeds",
    "draft_of",
    "holds",
    "keep_lesson",
    "name_view",
    "note_read",
    "put_mark",
    "remove_photo",
    "reply",
    "save_draft",
    "send",
    "send_answer",
    "set_work",
    "take_answer_back",
    "was_taken_out",
]
