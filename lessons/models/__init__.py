"""The rows of what happens between teacher and student."""

from lessons.models.answer import UNDO, Answer, Decision, Looking, Mark, Phrase, Reply
from lessons.models.lesson import Lesson, SetWork
from lessons.models.submission import Notice, Submission

__all__ = [
    "UNDO",
    "Answer",
    "Decision",
    "Lesson",
    "Looking",
    "Mark",
    "Notice",
    "Phrase",
    "Reply",
    "SetWork",
    "Submission",
]
