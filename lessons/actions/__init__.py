"""What happens between student and teacher, one function for each thing."""

from lessons.actions.answer import answer_of, put_mark, send_answer, take_answer_back
from lessons.actions.lesson import choose_reeds, keep_lesson, set_work
from lessons.actions.send import draft_of, save_draft, send

__all__ = [
    "answer_of",
    "choose_reeds",
    "draft_of",
    "keep_lesson",
    "put_mark",
    "save_draft",
    "send",
    "send_answer",
    "set_work",
    "take_answer_back",
]
