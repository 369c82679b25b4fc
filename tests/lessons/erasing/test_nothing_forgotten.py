"""Every model and every field that may hold a person's words or files goes, or stays for a reason."""

from __future__ import annotations

import re

from django.apps import apps
from django.db.models import CharField, FileField, JSONField, TextField

from lessons.erasing.parts import STAYS, WORDS

HOUSES = ("studio", "reeds", "lessons")
MODELS = {one._meta.label: one for house in HOUSES for one in apps.get_app_config(house).get_models()}
GONE = {part.model._meta.label for part in WORDS if not part.emptied}
EMPTIED: dict[str, set[str]] = {}
for one in WORDS:
    EMPTIED.setdefault(one.model._meta.label, set()).update(one.emptied)
# of which some rows go and others are emptied
EMPTIED_ROWS = {label for label, columns in EMPTIED.items() if columns}
# rows that go by code of their own, held by tests of their own: accounts and pictures
BY_CODE = {"studio.Person", "studio.Member", "studio.Invitation", "studio.SignInLink", "studio.SentForm"}
BY_CODE |= {"studio.Phone"}
PICTURES = {
    "reeds.Photo": {"raw", "upright", "large", "screen", "thumbnail", "flaws"},
    "reeds.Take": {"raw", "file", "mp3", "result", "tracks"},
    "reeds.PhotoMeasuring": {
        *("markers", "proposed", "outline", "laid", "reference", "heights", "landmarks", "camera", "flat"),
    },
}
# fields that could hold words and do not hold a person's, by model
FIELDS: dict[str, dict[str, str]] = {
    "studio.Studio": {"name": "of the studio", "time_zone": "of the studio"},
    "studio.Term": {"name": "of the studio"},
    "studio.WorkerLease": {"worker": "of a machine"},
    "studio.JournalEntry": {"detail": "a word of ours, which `note` sees to"},
    "reeds.Reed": {"shape": "of the tool", "staple": "of the part"},
    "reeds.Measurement": {
        "quantity": "a key",
        "word": "of a closed list",
        "computed_from": "keys of other numbers",
    },
    "reeds.CaneLot": {"label": "the grower's, by which lots are compared"},
    "reeds.PrintedCard": {"bar_method": "of a closed list"},
    "reeds.ToolReading": {"quantity": "a key"},
    "reeds.Rating": {"item": "a key"},
    "reeds.Offset": {"quantity": "a key"},
    "reeds.Photo": {"refusal": "a sentence of ours", "format": "of the file"},
    "reeds.PhotoMeasuring": {"looked_for": "a key", "refusal": "a sentence of ours", "lengths": "numbers"},
    "reeds.Take": {
        "refusal": "a sentence of ours",
        "content_type": "of the file",
        "granted": "what the browser said of itself",
        "notes": "of the playing test",
    },
    "reeds.OwnDoubt": {},
    "reeds.OwnQuantity": dict.fromkeys(("key", "name", "help", "unit", "choices"), "of the studio"),
    "reeds.Pattern": {"name": "of the studio"},
    "reeds.PatternVersion": dict.fromkeys(("data", "playing", "why"), "of the studio's sheet"),
    "lessons.Submission": {"findings": "sentences of ours with numbers"},
    "lessons.Answer": {},
    "lessons.Lesson": {"time_zone": "of the studio"},
    "lessons.AskedQuestion": {
        "outcome": "a key",
        "factor": "a key",
        "lot": "the grower's, by which lots are compared",
    },
    "lessons.PlannedComparison": dict.fromkeys(("one", "other", "outcome", "stopped_why"), "of the studio"),
}


def may_hold_words(field):
    """Whether a column can hold what somebody wrote or sent: not a key, nor a choice of a closed list."""
    return isinstance(field, CharField | TextField | JSONField | FileField) and not field.choices


def test_every_model_is_known_to_erasing():
    """A new model fails here until a part of `WORDS` names it, or `STAYS` with its reason."""
    known = {part.model._meta.label for part in WORDS}
    assert set(MODELS) - known - set(STAYS) == set()
    assert set(STAYS) - set(MODELS) == set()
    assert not known & set(STAYS)
    assert all(re.fullmatch(r"[a-z].{4,}[^.]", why) for why in STAYS.values())


def words_forgotten(label):
    """Columns of a model that nobody has thought of, and reasons for what goes anyhow."""
    fields = {field.name for field in MODELS[label]._meta.get_fields() if may_hold_words(field)}
    goes = EMPTIED.get(label, set()) | PICTURES.get(label, set())
    reasons = set(FIELDS.get(label, ()))
    return (fields - goes - reasons) | (reasons - (fields - goes))


def test_every_column_that_may_hold_words_goes_or_stays_for_a_reason():
    """A new column fails here until erasing empties it, or a reason stands above."""
    whole = (GONE - set(EMPTIED_ROWS)) | BY_CODE | {"lessons.LetterPicture"}
    assert {label: found for label in set(MODELS) - whole if (found := words_forgotten(label))} == {}


def test_what_an_account_holds_goes_with_it():
    """A new column of people, or of what opens a studio to them, is looked at here first."""
    members = {field.name for field in MODELS["studio.Member"]._meta.get_fields() if may_hold_words(field)}
    assert members == {"guardian_name"}
    person = MODELS["studio.Person"]
    named = [one for one in MODELS.values() if person in [field.related_model for field in one._meta.fields]]
    assert set(named) == {MODELS[f"studio.{one}"] for one in ("Member", "Phone", "SentForm")}
