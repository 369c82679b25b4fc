"""What a teacher does with a round, and what is said back; one function for each thing."""

from lessons.answering.actions.answer import (
    Written,
    answer_of,
    keep_answer,
    refuse_taken_out,
    send_answer,
    take_answer_back,
)
from lessons.answering.actions.looking import claim, let_go, look
from lessons.answering.actions.mark import drop_mark, put_mark, put_span
from lessons.answering.actions.phrase import change_phrase, drop_phrase, keep_phrase, use_phrase
from lessons.answering.actions.reply import note_read, reply

__all__ = [
    "Written",
    "answer_of",
    "change_phrase",
    "claim",
    "drop_mark",
    "drop_phrase",
    "keep_answer",
    "keep_phrase",
    "let_go",
    "look",
    "note_read",
    "put_mark",
    "put_span",
    "refuse_taken_out",
    "reply",
    "send_answer",
    "take_answer_back",
    "use_phrase",
]
