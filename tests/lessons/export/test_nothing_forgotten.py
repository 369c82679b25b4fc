"""Every model and every field of a person's rows goes out, or is left out for a reason that stands here."""

from __future__ import annotations

import re

import pytest
from django.apps import apps

from lessons.answering.models import Mark
from lessons.export.gathering.reasons import LEFT_OUT
from lessons.export.gathering.source import Source
from lessons.export.tasks import contents
from reeds.sheet.models.own import OwnQuantity

TABLES = contents().tables
HOUSES = ("studio", "reeds", "lessons")
EXPORTED = {model for table in TABLES for model in table.models} | {Mark}
# of every row
ALWAYS = {"id", "studio", "key"}
# how the server goes about files
OF_FILES = {
    "raw",
    "sound_raw",
    "photo_raw",
    "large",
    "screen",
    "thumbnail",
    "photo_thumbnail",
    "flat",
    "flat_of",
    "mp3",
}
OF_FILES |= {"content_type", "sound_type", "size_bytes", "format", "orientation", "digest"}
OF_FILES |= {"original_width", "original_height", "photo_state", "photo_refusal", "sound_state"}
OF_FILES |= {"sound_refusal", "pdf", "pdf_of", "pdf_pages", "pdf_state", "pdf_refusal"}
# fields by model, and why they are left out
FIELDS: dict[str, dict[str, str]] = {
    "reeds.Reed": {
        "number": "stands as reed",
        "batch": "made by the page",
        "taken_out_at": "a reed taken out is in no export",
        "log": "which list it came with: known while that can be taken back",
    },
    "reeds.CaneLot": {"log": "as of a reed"},
    "reeds.ReedEvent": {"log": "as of a reed"},
    "reeds.PlayingTest": {"log": "as of a reed"},
    "reeds.Measurement": {"log": "as of a reed", "own": "its key is the quantity"},
    "reeds.PatternVersion": {"data": "stands in sheet_rows", "playing": "stands in playing_items"},
    "reeds.Photo": {"taken_back_at": "one taken back is in no export", "erased_at": "nor one erased"},
    "reeds.PhotoMeasuring": {
        "looked_for": "what the worker was asked",
        "state": "how far the worker is",
        "refusal": "what the worker found",
        "asked_at": "when the worker was asked",
        "markers": "what the worker found",
        "proposed": "what the worker found, before a person set it right",
        "laid": "what the worker found",
        "heights": "of the model of the camera",
        "camera": "of the model of the camera",
    },
    "reeds.Take": {
        "taken_back_at": "one taken back is in no export",
        "erased_at": "nor one erased",
        "heard_at": "when the server was done with it",
        "tracks": "drawn from the recording, which is there",
    },
    "lessons.Submission": {
        "typed_at": "when each field was typed, to the millisecond",
        "findings": "stand in findings",
        "need": "its place in the teachers' queue",
        "leaks": "its place in the teachers' queue",
        "photos": "stand in round_photos",
        "takes": "stand in round_takes",
        "measurements": "numbers stand in numbers with their times",
        "student": "its reed's",
    },
    "lessons.Answer": {
        "saved_at": "of the draft",
        "together": "which were sent with one sending",
        "template": "of the draft, before each reed's number was put in",
    },
    "lessons.Lesson": {"present": "stands in lesson_people"},
    "lessons.SetWork": {"reeds": "stand in work_reeds"},
    "lessons.Phrase": {"teacher": "is who asks"},
    "lessons.Letter": {
        "term": "its name and days stand there",
        "language": "of the page on which it was begun",
        "voice": "spoken to be written down, and goes when the letter is given",
        "begun_at": "of the draft",
        "saved_at": "of the draft",
    },
    "lessons.PlannedComparison": {
        "seed": "what will be drawn next must stay unknown",
        "students": "stand in comparison_people",
        "put_away_at": "of the page that reports it",
    },
    "lessons.Allotment": {"student": "its reed's"},
    "lessons.ReedLog": {
        "file": "kept until it is brought in",
        "headings": "of looking it over",
        "said": "of looking it over",
        "choices": "of looking it over",
        "found": "of looking it over",
        "made": "of taking it back",
    },
    "lessons.Demonstration": {"sound_seconds": "the recording is there", "erased_at": "its files are gone"},
    "studio.Member": {
        "children": "who is whose guardian opens their reeds to them, and stands on the people's page",
        "erased_at": "stands as the name",
        "erasure_asked_at": "stands in the journal",
        "erasure_agreed_at": "stands in the journal",
    },
    "studio.JournalEntry": {"day": "of at"},
    "reeds.OwnQuantity": {
        "made_by": "of the studio's pages",
        "made_at": "of the studio's pages",
        "retired_at": "stands as is_asked",
        "method": "stands beside each number",
        "u": "stands beside each number",
    },
    "lessons.Mark": {"answer": "its maker and time stand in it", "photo": "its source", "take": "its source"},
}
# read by code that is no list of fields
READ = {
    OwnQuantity: {"name", "help", "stage", "unit", "low", "high", "choices"},
    Mark: {"annotation", "made_at"},
}


def test_every_model_is_exported_or_left_out_for_a_reason():
    """A new model fails here until it is in a table of the export, or in `LEFT_OUT` with its reason."""
    ours = [model for house in map(apps.get_app_config, HOUSES) for model in house.get_models()]
    assert {one._meta.label for one in ours if one not in EXPORTED} - set(LEFT_OUT) == set()
    assert not {one._meta.label for one in EXPORTED} & set(LEFT_OUT)
    assert all(re.fullmatch(r"[a-z].{20,}[^.]", why) for why in LEFT_OUT.values())


def read_of(model):
    """The fields of a model that any table reads, be it by way of another model."""
    found = set(READ.get(model, ()))
    sources = [table for table in TABLES if isinstance(table, Source)]
    paths = [(table.model, path) for table in sources for field in table.fields for path in field.paths]
    for start, path in paths:
        here = start
        for name in path.split("__"):
            field = here._meta.get_field(here._meta.pk.name if name == "pk" else name)
            if here is model:
                found.add(field.name)
            here = field.related_model
    return found


@pytest.mark.parametrize(
    "model",
    sorted((one for one in EXPORTED if not one._meta.auto_created), key=lambda one: one._meta.label),
    ids=lambda model: model._meta.label,
)
def test_every_field_is_exported_or_left_out_for_a_reason(model):
    """A new field fails here until a table has a column of it, or a reason stands above."""
    fields = {field.name for field in model._meta.get_fields() if field.concrete}
    reasons, read = FIELDS.get(model._meta.label, {}), read_of(model)
    assert fields - read - ALWAYS - OF_FILES - set(reasons) == set()
    assert set(reasons) <= fields - read  # no reason for what is gone, or goes out
