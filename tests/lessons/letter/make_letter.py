"""A term with a student's measured reeds, and a letter of it, for the tests of letters."""

from __future__ import annotations

import datetime as dt
import io

import pypdf
from django.utils import timezone

from lessons.letter import actions
from lessons.letter.written import Written
from reeds.reed.models.playing import PlayingTest, Rating
from tests import factories as make

MM = 72 / 25.4


def term(studio):
    today = make.today()
    return make.TermFactory(
        studio=studio, name="Autumn", starts_on=today - dt.timedelta(60), ends_on=today + dt.timedelta(30)
    )


def sent_photo(student, days, speaks=None, **given):
    """Return a measured photo of a new reed, sent so many days ago, and how the reed spoke."""
    at = timezone.now() - dt.timedelta(days=days)
    reed = make.ReedFactory(owner=student, made_at=at)
    photo = make.measured_photo(reed, **given)
    round_ = make.SubmissionFactory(reed=reed, sent_at=at, stage=reed.stage, version=reed.version)
    round_.photos.add(photo)
    if speaks is not None:
        test = PlayingTest.objects.create(studio=student.studio, reed=reed, by=student, at=at)
        Rating.objects.create(studio=student.studio, test=test, item="low_notes", speaks=speaks)
    return photo


def written(**given):
    words = {"sentences": ["Even within 0.6 mm now, 1.4 mm in September."], "words": "Go on like this."}
    return Written(**words | given)


def kept(student, term, **given):
    """Return a draft with something in it."""
    letter = actions.draft_of(student, term)
    since = letter.saved_at.isoformat() if letter.saved_at else ""
    actions.keep(letter, written(**given), since)
    return letter


def given(teacher, student, term, **more):
    letter = kept(student, term, **more)
    actions.give(letter, teacher)
    letter.refresh_from_db()
    return letter


def sent(**more):
    """Return what the page of writing sends."""
    return {
        "sentences-text": ["Even now.", "Not this one."],
        "sentences-keep": ["0"],
        "words": "Go on like this.",
        "next_aim": "Ten reeds.",
        "since": "",
    } | more


def read(data):
    return pypdf.PdfReader(io.BytesIO(data))


def text_of(pdf):
    """Return its words; pypdf reads a font that has letters of several scripts with a nought before each."""
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).replace("\0", "").split())


def pictures_of(pdf):
    """Return width and height in mm of every photo as it is drawn on paper, in order."""
    drawn = []
    for page in pdf.pages:
        objects = page["/Resources"].get("/XObject", {})

        def note(operator, operands, matrix, _text, objects=objects):
            if operator == b"Do" and objects[operands[0]].get_object()["/Subtype"] == "/Image":
                drawn.append((matrix[0] / MM, matrix[3] / MM))

        page.extract_text(visitor_operand_before=note)
    return drawn
