"""What happens between student and teacher, one function for each thing."""

from lessons.actions.answer import (
    Written,
    answer_of,
    keep_answer,
    refuse_taken_out,
    send_answer,
    take_answer_back,
)
from lessons.actions.lesson import choose_reeds, keep_lesson, set_work
from lessons.actions.looking import claim, let_go, look
from lessons.actions.mark import drop_mark, put_mark, put_span
from lessons.actions.phrase import change_phrase, drop_phrase, keep_phrase, use_phrase
from lessons.actions.reply import note_read, reply
from lessons.actions.send import (
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
from lessons.actions.take import attach_take, remove_take

__all__ = [
    "Round",
    "Save",
    "SentMeanwhile",
    "Written",
    "answer_of",
    "attach_photo",
    "attach_take",
    "change_phrase",
    "choose_reeds",
    "claim",
    "draft_of",
    "drop_mark",
    "drop_phrase",
    "holds",
    "keep_answer",
    "keep_lesson",
    "keep_phrase",
    "let_go",
    "look",
    "name_view",
    "note_read",
    "put_mark",
    "put_span",
    "refuse_taken_out",
    "remove_photo",
    "remove_take",
    "reply",
    "save_draft",
    "send",
    "send_answer",
    "set_work",
    "take_answer_back",
    "use_phrase",
    "was_taken_out",
]
