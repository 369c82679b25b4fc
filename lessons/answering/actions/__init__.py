"""What a teacher does with a round, and what is said back; each function is one transaction."""

from lessons.answering.actions.answer import send_answer, take_answer_back
from lessons.answering.actions.draft import answer_of, keep_answer, open_answer, refuse_taken_out
from lessons.answering.actions.looking import claim, let_go, look
from lessons.answering.actions.marks import drop_mark, put_mark, put_span
from lessons.answering.actions.phrases import change_phrase, drop_phrase, keep_phrase, use_phrase
from lessons.answering.actions.replies import note_read, reply
from lessons.answering.actions.together import send_together
from lessons.answering.actions.voice import drop_voice, put_voice

__all__ = [
    "answer_of",
    "change_phrase",
    "claim",
    "drop_mark",
    "drop_phrase",
    "drop_voice",
    "keep_answer",
    "keep_phrase",
    "let_go",
    "look",
    "note_read",
    "open_answer",
    "put_mark",
    "put_span",
    "put_voice",
    "refuse_taken_out",
    "reply",
    "send_answer",
    "send_together",
    "take_answer_back",
    "use_phrase",
]
