"""The measuring sheets: list, one sheet, changing it, another one, putting away."""

from __future__ import annotations

import pytest

from reeds.numbers.words import Stage
from reeds.reed import actions
from reeds.reed.models.reed import Reed
from reeds.sheet.actions import sheet as sheet_actions
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.sheet.starters import STARTERS
from tests import factories as make
from tests.reeds.form import fields_of


@pytest.fixture
def pattern(teacher) -> Pattern:
    sheet_actions.give_starters(teacher.studio)
    return Pattern.objects.get(studio=teacher.studio, style="short")


def row_of(fields: dict[str, str], quantity: str, **wanted: str) -> str:
    """Return the prefix of the first row of this quantity with these values."""
    for name, value in fields.items():
        prefix = name.removesuffix("quantity")
        if value == quantity and all(fields[prefix + key] == is_ for key, is_ in wanted.items()):
            return prefix
    raise AssertionError(f"no row for {quantity}")


def test_new_studio_finds_the_starter_sheets_on_the_first_visit_and_only_once(teacher, as_member):
    client = as_member(teacher)
    for _visit in range(2):
        page = client.get(teacher.to("reeds:patterns"))
    assert {p.style for p in Pattern.objects.filter(studio=teacher.studio)} == set(STARTERS)
    assert Pattern.objects.count() == len(STARTERS)
    assert "Short scrape" in page.content.decode()


def test_starter_sheet_is_kept_whole(pattern):
    stored = pattern.current.sheet
    assert set(stored.limits) == set(STARTERS[stored.style].limits)


def test_list_asks_as_often_for_ten_sheets_as_for_two(
    teacher, as_member, pattern, django_assert_max_num_queries
):
    client = as_member(teacher)
    with django_assert_max_num_queries(12) as few:
        client.get(teacher.to("reeds:patterns"))
    for n in range(8):
        version = make.VersionFactory(pattern__studio=teacher.studio, pattern__name=f"sheet {n}")
        make.ReedFactory(owner=teacher, version=version)
    with django_assert_max_num_queries(len(few)):
        page = client.get(teacher.to("reeds:patterns"))
    assert page.content.decode().count("1 reed<") == 8


def test_sheet_shows_each_rows_source_and_says_once_what_a_ruler_cannot_decide(teacher, as_member, pattern):
    page = as_member(teacher).get(teacher.to("reeds:pattern", pattern.pk)).content.decode()
    assert "HyperPhysics" in page
    assert "common practice from memory, no source" in page
    # three staples, one remark: 0.4 mm is narrower than 3.92 times 0.2 mm
    assert page.count("Ruler is too coarse here: take caliper or photo.") == 1


def test_teacher_changes_a_limit_and_reeds_that_are_made_keep_theirs(teacher, student, as_member, pattern):
    made = make.ReedFactory(owner=student, version=pattern.current)
    client = as_member(teacher)
    fields = fields_of(client.get(teacher.to("reeds:pattern_edit", pattern.pk)), "")
    fields[row_of(fields, "gouge") + "high"] = "0,61"
    fields["why"] = "thicker cane this year"
    answer = client.post(teacher.to("reeds:pattern_edit", pattern.pk), fields)
    assert answer.status_code == 302
    version = pattern.current
    assert (version.number, version.why, version.made_by) == (2, "thicker cane this year", teacher)
    row = version.sheet.limit_for("gouge")
    assert (row.low, row.aim, row.high, row.source) == (0.55, 0.57, 0.61, "the studio's own")
    assert (
        version.sheet.limit_for("opening_area").source == STARTERS["short"].limit_for("opening_area").source
    )
    made.refresh_from_db()
    assert made.version.number == 1


def test_teacher_who_changes_nothing_makes_no_version(teacher, as_member, pattern):
    client = as_member(teacher)
    fields = fields_of(client.get(teacher.to("reeds:pattern_edit", pattern.pk)))
    client.post(teacher.to("reeds:pattern_edit", pattern.pk), fields | {"why": "nothing"})
    assert pattern.versions.count() == 1


def test_teacher_drops_a_quantity_and_adds_one_for_hard_cane_on_one_staple(teacher, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    fields = fields_of(client.get(address)) | {"why": "tidied"}
    fields[row_of(fields, "tube_diameter") + "DELETE"] = "on"
    grown = client.post(address, fields | {"add": "1", "another": "heart_length"})
    assert grown.status_code == 200
    assert "errorlist" not in grown.content.decode()
    assert pattern.versions.count() == 1
    fields = fields_of(grown) | {"why": "tidied"}
    prefix = row_of(fields, "heart_length")
    given = {"low": "4", "aim": "5", "high": "6", "staple": "46", "flexibility": "hard"}
    fields |= {prefix + side: value for side, value in given.items()}
    assert client.post(address, fields).status_code == 302
    sheet = pattern.current.sheet
    assert "tube_diameter" not in sheet.keys
    assert sheet.limit_for("heart_length", 46.0, "hard").aim == 5.0
    assert sheet.limit_for("heart_length", 45.0, "hard") is None


def test_teacher_gives_the_opening_other_limits_from_a_stage_on(teacher, student, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    grown = client.post(address, fields_of(client.get(address)) | {"add": "1", "another": "opening_height"})
    fields = fields_of(grown) | {"why": "once it plays"}
    total = int(fields["row-TOTAL_FORMS"])
    given = {"low": "0,4", "aim": "0,5", "high": "0,7", "stage": "playing"}
    fields |= {f"row-{total - 1}-{name}": value for name, value in given.items()}
    assert client.post(address, fields).status_code == 302
    assert pattern.current.sheet.limit_for("opening_height", stage=Stage.PLAYING).aim == 0.5
    assert pattern.current.sheet.limit_for("opening_height", stage=Stage.SCRAPED).aim != 0.5
    page = as_member(student).get(student.to("reeds:pattern", pattern.pk)).content.decode()
    assert "from playing on" in page


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("low", "0.58", "over the aim"),
        ("high", "5,7", "cannot be right"),
        ("aim", "thick", "is not a number"),
        ("staple", "1 3/4 in", "is"),
    ],
)
def test_row_that_cannot_be_right_is_said_and_the_rest_stays(
    teacher, as_member, pattern, field, typed, sentence
):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    fields = fields_of(client.get(address)) | {"why": "a thought I would not like to lose"}
    fields[row_of(fields, "gouge") + field] = typed
    answer = client.post(address, fields)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    assert typed in page
    assert "a thought I would not like to lose" in page
    assert pattern.versions.count() == 1


def test_same_quantity_twice_for_the_same_reed_is_refused(teacher, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    fields = fields_of(client.get(address)) | {"why": "twice"}
    grown = client.post(address, fields | {"add": "1", "another": "gouge"})
    fields = fields_of(grown)
    last = f"row-{int(fields['row-TOTAL_FORMS']) - 1}-"
    answer = client.post(address, fields | {last + "low": "0.5", last + "high": "0.7", "why": "twice"})
    assert answer.status_code == 422
    assert "twice" in answer.content.decode()


def test_second_teacher_does_not_overwrite_the_first_unseen(teacher, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    fields = fields_of(client.get(address)) | {"why": "mine"}
    fields[row_of(fields, "gouge") + "high"] = "0.62"
    other = make.teacher(studio=teacher.studio)
    sheet_actions.change_sheet(pattern, other, STARTERS["long"], "theirs", 1)
    answer = client.post(address, fields)
    assert answer.status_code == 422
    assert "saved version 2 meanwhile" in answer.content.decode()
    assert 'value="0.62"' in answer.content.decode()
    assert pattern.versions.count() == 2
    # having seen it, the second one may replace it
    assert client.post(address, fields_of(answer)).status_code == 302
    assert (pattern.current.number, pattern.current.made_by) == (3, teacher)


def test_teacher_begins_a_sheet_as_a_copy_and_names_are_taken_once(teacher, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_new")
    answer = client.post(address, {"name": "My own", "begun_from": str(pattern.pk)})
    copy = Pattern.objects.get(name="My own")
    assert answer.url == teacher.to("reeds:pattern_edit", copy.pk)
    assert copy.current.sheet == pattern.current.sheet
    again = client.post(address, {"name": "my OWN ", "begun_from": "long"})
    assert again.status_code == 422
    assert "of this name already" in again.content.decode()
    assert "my OWN" in again.content.decode()


def test_sheet_put_away_is_not_offered_and_the_last_one_stays(teacher, as_member, pattern):
    client = as_member(teacher)
    client.post(teacher.to("reeds:pattern_put_away", pattern.pk))
    pattern.refresh_from_db()
    assert pattern.put_away_at is not None
    last = Pattern.objects.in_use().get(studio=teacher.studio)
    answer = client.post(teacher.to("reeds:pattern_put_away", last.pk), follow=True)
    assert "only sheet in use" in answer.content.decode()
    client.post(teacher.to("reeds:pattern_put_away", pattern.pk))
    assert Pattern.objects.in_use().filter(studio=teacher.studio).count() == 2


def test_earlier_version_stays_readable_and_an_unknown_one_is_not_there(teacher, as_member, pattern):
    sheet_actions.change_sheet(pattern, teacher, STARTERS["long"], "changed", 1)
    client = as_member(teacher)
    page = client.get(teacher.to("reeds:pattern", pattern.pk) + "?version=1")
    assert "An earlier version" in page.content.decode()
    assert client.get(teacher.to("reeds:pattern", pattern.pk) + "?version=7").status_code == 404


def test_student_reads_the_sheet_moved_by_their_own_offsets_and_changes_nothing(
    teacher, student, as_member, pattern
):
    sheet_actions.set_offsets(student, teacher, {"tie_length": 1.0}, "")
    client = as_member(student)
    page = client.get(student.to("reeds:pattern", pattern.pk)).content.decode()
    assert "moved by +1" in page
    for name in ("pattern_edit", "pattern_put_away"):
        assert client.post(student.to(f"reeds:{name}", pattern.pk)).status_code == 404
    assert client.get(student.to("reeds:pattern_new")).status_code == 404
    assert pattern.versions.count() == 1


def test_stranger_finds_no_sheet_of_this_studio(teacher, stranger, as_member, pattern):
    client = as_member(stranger)
    for member in (teacher, stranger):
        for name in ("pattern", "pattern_edit"):
            assert client.get(member.to(f"reeds:{name}", pattern.pk)).status_code == 404
    assert client.post(stranger.to("reeds:pattern_put_away", pattern.pk)).status_code == 404
    assert (
        client.post(stranger.to("reeds:pattern_new"), {"name": "x", "begun_from": pattern.pk}).status_code
        == 422
    )


def test_wrong_methods_are_refused(teacher, as_member, pattern):
    client = as_member(teacher)
    assert client.post(teacher.to("reeds:patterns")).status_code == 405
    assert client.post(teacher.to("reeds:pattern", pattern.pk)).status_code == 405
    assert client.get(teacher.to("reeds:pattern_put_away", pattern.pk)).status_code == 405
    assert client.delete(teacher.to("reeds:pattern_edit", pattern.pk)).status_code == 405


def test_reed_takes_the_version_of_the_day_it_is_made(teacher, student, pattern):
    first = pattern.current
    (one,) = actions.make_reeds(Reed(studio=student.studio, owner=student, version=first), student)
    sheet_actions.change_sheet(pattern, teacher, STARTERS["long"], "changed", 1)
    assert PatternVersion.objects.get(reeds=one) == first


def test_name_that_is_taken_saves_nothing_at_all(teacher, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    fields = fields_of(client.get(address)) | {"why": "thicker", "name": "Long scrape"}
    fields[row_of(fields, "gouge") + "high"] = "0.62"
    answer = client.post(address, fields)
    assert answer.status_code == 422
    assert "of this name already" in answer.content.decode()
    assert pattern.versions.count() == 1


def test_sheet_is_renamed_without_a_new_version(teacher, as_member, pattern):
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", pattern.pk)
    client.post(address, fields_of(client.get(address)) | {"why": "-", "name": "The short one"})
    pattern.refresh_from_db()
    assert (pattern.name, pattern.versions.count()) == ("The short one", 1)
