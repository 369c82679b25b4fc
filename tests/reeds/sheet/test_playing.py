"""A sheet's playing test: items, order, notes and tempo changed by its teacher, asked and listened for."""

from __future__ import annotations

import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from reeds.sheet.actions import sheet as actions
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.sheet.playing_items import USUAL, PlayingItem
from reeds.take.models import Take
from studio.models import Person
from tests import factories as make
from tests.reeds.form import fields_of


@pytest.fixture
def pattern(teacher) -> Pattern:
    actions.give_starters(teacher.studio)
    return Pattern.objects.get(studio=teacher.studio, style="short")


@pytest.fixture
def at(teacher, pattern):
    return teacher.to("reeds:playing_edit", pattern.pk)


@pytest.fixture
def desk(teacher, as_member):
    return as_member(teacher)


@pytest.fixture
def save(desk, at):
    """Return a function that sends the form as it stands with some fields changed."""

    def save(**changed):
        fields = fields_of(desk.get(at)) | {"why": "tried"}
        return desk.post(at, fields | {name.replace("__", "-"): value for name, value in changed.items()})

    return save


def test_the_form_shows_the_usual_test_and_saving_it_unchanged_makes_no_version(save, desk, at, pattern):
    fields = fields_of(desk.get(at))
    assert fields["low_notes-notes"] == "D4, C4, B3, Bb3"
    assert (fields["staccato-tempo"], fields["crow-place"], fields["tuning-place"]) == ("80", "1", "6")
    assert save().status_code == 302
    assert pattern.versions.count() == 1


def test_notes_tempo_and_order_make_the_next_version_and_the_limits_stay(save, pattern, teacher):
    before = pattern.current
    changed = save(
        low_notes__notes="eb4 db4; A#3", staccato__tempo="96", tuning__place="1", crow__place="6", why="lower"
    )
    assert changed.url == teacher.to("reeds:pattern", pattern.pk) + "#playing"
    now = pattern.current
    assert (now.number, now.why, now.made_by, now.sheet) == (2, "lower", teacher, before.sheet)
    items = {item.key: item for item in now.test}
    assert (now.test[0].key, now.test[-1].key) == ("tuning", "crow")
    assert items["low_notes"].notes == ("Eb4", "C#4", "Bb3")
    assert items["staccato"].tempo == 96
    assert before.test == USUAL


@pytest.fixture
def german_names(teacher):
    Person.objects.filter(pk=teacher.person_id).update(note_names="german")


def test_notes_are_shown_and_typed_as_the_reader_calls_them_and_kept_one_way(
    german_names, save, desk, at, pattern, teacher
):
    fields = fields_of(desk.get(at))
    assert (fields["low_notes-notes"], fields["tuning-notes"]) == ("d′, c′, h, b", "a′")
    assert save().status_code == 302
    assert pattern.versions.count() == 1  # they are the same notes
    save(low_notes__notes="es' cis' ais Bb3 H3")
    notes = {item.key: item.notes for item in pattern.current.test}["low_notes"]
    assert notes == ("Eb4", "C#4", "Bb3", "Bb3", "B3")
    page = desk.get(teacher.to("reeds:pattern", pattern.pk)).content.decode()
    assert "es′, cis′, b, b, h" in page


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("B4", "“B4” may be two notes: write b′ or h′."),
        ("B", "B is not on an oboe: its notes lie between b and a‴."),
        ("j′", "“j′” is no note: write its name and a stroke for each octave"),
    ],
)
def test_of_who_calls_notes_german_a_b_is_never_guessed(german_names, save, pattern, typed, sentence):
    answer = save(low_notes__notes=typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert pattern.versions.count() == 1


def test_an_item_is_left_out_and_taken_in_again(save, desk, at, pattern):
    fields = fields_of(desk.get(at)) | {"why": "short"}
    del fields["third_octave-wanted"], fields["crow-wanted"]
    desk.post(at, fields)
    assert [item.key for item in pattern.current.test] == ["low_notes", "staccato", "long_tone", "tuning"]
    save(crow__wanted="on")
    assert [item.key for item in pattern.current.test][-1] == "crow"


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("low_notes__notes", "D4, J3", "“J3” is no note"),
        ("low_notes__notes", "D4 C", "“C” is no note"),
        ("low_notes__notes", "D4 b′", "“b′” may be two notes: write Bb4 or B4."),
        ("third_octave__notes", "C6, C7", "C7 is not on an oboe"),
        ("low_notes__notes", "A3", "A3 is not on an oboe"),
        ("low_notes__notes", "D4 " * 25, "up to 24 notes"),
        ("staccato__notes", "A4, B4", "Name one note"),
        ("tuning__notes", "", "Name one note"),
        ("staccato__tempo", "29", "between 30 and 208"),
        ("staccato__tempo", "allegro", "between 30 and 208"),
        ("staccato__tempo", "80.5", "between 30 and 208"),
    ],
)
def test_a_note_or_tempo_that_cannot_be_is_said_and_the_rest_stays(save, pattern, field, typed, sentence):
    answer = save(**{field: typed, "why": "a thought not to lose"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    assert typed.strip() in page
    assert "a thought not to lose" in page
    assert pattern.versions.count() == 1


def test_a_test_of_nothing_is_refused(desk, at, pattern):
    fields = {name: value for name, value in fields_of(desk.get(at)).items() if not name.endswith("wanted")}
    answer = desk.post(at, fields | {"why": "none"})
    assert answer.status_code == 422
    assert "at least one item" in answer.content.decode()
    assert pattern.versions.count() == 1


def test_what_another_teacher_saved_meanwhile_is_not_lost_unseen(desk, at, pattern, teacher):
    fields = fields_of(desk.get(at)) | {"why": "mine", "staccato-tempo": "100"}
    other = make.teacher(studio=teacher.studio)
    actions.change_test(pattern, other, [PlayingItem("crow")], "theirs", 1)
    answer = desk.post(at, fields)
    assert answer.status_code == 422
    assert "saved version 2 meanwhile" in answer.content.decode()
    assert pattern.versions.count() == 2
    assert desk.post(at, fields_of(answer) | {"why": "mine"}).status_code == 302
    assert {item.key: item for item in pattern.current.test}["staccato"].tempo == 100


def test_limits_changed_later_and_a_copy_keep_the_test(save, desk, pattern, teacher):
    save(staccato__tempo="96")
    address = teacher.to("reeds:pattern_edit", pattern.pk)
    fields = fields_of(desk.get(address)) | {"why": "thicker"}
    row = next(name for name, value in fields.items() if value == "gouge").removesuffix("quantity")
    desk.post(address, fields | {row + "high": "0.62"})
    assert (pattern.current.number, pattern.current.test[2].tempo) == (3, 96)
    desk.post(teacher.to("reeds:pattern_new"), {"name": "Another", "begun_from": str(pattern.pk)})
    assert Pattern.objects.get(name="Another").current.test[2].tempo == 96


def test_the_sending_page_asks_what_the_sheet_says_and_the_worker_listens_for_it(
    save, pattern, teacher, student, as_member, django_capture_on_commit_callbacks
):
    save(tuning__notes="Bb4", staccato__tempo="96", crow__place="6", low_notes__place="1")
    reed = make.ReedFactory(owner=student, version=pattern.current, stage="playing")
    client = as_member(student)
    page = client.get(student.to("lessons:draft", reed.pk)).content.decode()
    assert 'data-item="staccato" data-tempo="96"' in page
    assert "96 beats a minute" in page
    assert page.index('data-item="low_notes"') < page.index('data-item="crow"')
    sound = SimpleUploadedFile("a.wav", make.tone(442 * 2 ** (1 / 12)), "audio/wav")
    key = re.search(r'name="key" value="([^"]+)"', page)[1]
    with django_capture_on_commit_callbacks(execute=True):
        sent = client.post(
            student.to("lessons:take", reed.pk),
            {"key": key, "take-key": str(uuid.uuid4()), "item": "tuning", "take": sound},
            headers={"hx-request": "true"},
        )
    assert sent.status_code == 200
    take = Take.objects.get()
    assert (take.notes, take.result["notes"][0]["name"]) == (["Bb4"], "Bb4")
    assert take.result["item"]["cents"] == pytest.approx(0, abs=1)


def test_a_reed_made_before_keeps_its_test(save, pattern, student, as_member):
    reed = make.ReedFactory(owner=student, version=pattern.current, stage="playing")
    save(staccato__tempo="96")
    page = as_member(student).get(student.to("lessons:draft", reed.pk)).content.decode()
    assert "80 beats a minute" in page


def test_a_student_reads_the_test_and_changes_nothing(pattern, student, stranger, as_member):
    page = as_member(student).get(student.to("reeds:pattern", pattern.pk)).content.decode()
    assert "D4, C4, B3, Bb3" in page
    assert "Change the playing test" not in page
    for who in (student, stranger):
        client = as_member(who)
        assert client.get(who.to("reeds:playing_edit", pattern.pk)).status_code == 404
        assert client.post(who.to("reeds:playing_edit", pattern.pk), {}).status_code == 404
    assert PatternVersion.objects.filter(pattern=pattern).count() == 1
