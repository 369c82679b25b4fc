"""The rows between teacher and student, named where Django looks for them; import them from the nouns."""

from lessons.answering.models import Answer, Looking, Mark, Phrase, Reply
from lessons.calendar.models import CalendarLink
from lessons.comparison.models import Allotment, AskedQuestion, PlannedComparison
from lessons.demonstration.models import Demonstration
from lessons.export.models import Export
from lessons.lesson.models import Lesson, LessonNote, SetWork
from lessons.letter.models import Letter, LetterPicture, TermReport
from lessons.log.models import ReedLog
from lessons.sending.models import Notice, Submission
from lessons.voice.models import Voice

__all__ = [
    "Allotment",
    "Answer",
    "AskedQuestion",
    "CalendarLink",
    "Demonstration",
    "Export",
    "Lesson",
    "LessonNote",
    "Letter",
    "LetterPicture",
    "Looking",
    "Mark",
    "Notice",
    "Phrase",
    "PlannedComparison",
    "ReedLog",
    "Reply",
    "SetWork",
    "Submission",
    "TermReport",
    "Voice",
]
