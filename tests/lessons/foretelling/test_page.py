"""The page 'What a blank foretells', on the demo's finished term; who sees it, and when it says nothing."""

from __future__ import annotations

import pytest

from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.lessons.demo.finished import finished_term

RESTS = 4  # one blank of each hand


@pytest.fixture(scope="module")
def written(once):
    return once(finished_term)


@pytest.fixture
def finished(written, anew):
    return anew(written)


@pytest.fixture
def shown(as_member):
    def opened(member):
        return as_member(member).get(member.to("lessons:foretelling"))

    return opened


def words(answer):
    return " ".join(answer.content.decode().split())


def drawn(answer):
    """What the page itself shows; the bar has drawings of its own."""
    return words(answer).split("<main")[1]


def allow(studio):
    studio.foretells_to_students = True
    studio.save()


def test_a_teacher_sees_each_blank_with_its_chance_its_interval_and_what_pulls(finished, shown):
    answer = shown(finished.teacher)
    rows = answer.context["page"].blanks.rows
    assert len(rows) == RESTS
    for row in rows:
        assert row.ups == ["103 days of rest"] or row.ups == ["104 days of rest"]
        assert row.downs == row.unknown == []
        assert 0 < row.chance.low < row.chance.value < row.chance.high < 1
        assert row.chance.value > answer.context["page"].blanks.played.value
        assert f"{round(100 * row.chance.value)} %</span>" in words(answer)
        assert f"({round(100 * row.chance.low)} to {round(100 * row.chance.high)})" in words(answer)
        assert str(row.reed.owner) in words(answer)


def test_it_says_what_it_rests_on_and_whether_such_chances_held_in_a_picture_and_a_table(finished, shown):
    answer = shown(finished.teacher)
    moment = answer.context["page"].blanks
    said = words(answer)
    assert f"{moment.told.played} of {moment.told.n}: " in said
    assert "the rest before scraping" in said
    assert said.count('class="dot"') == 5 * 2  # before scraping, and once it was tried
    assert sum(group.played.n for group in moment.held) == moment.told.n
    for group in moment.held:
        assert f"{group.played.count} of {group.played.n}: " in said
        assert group.played.low <= group.foretold <= group.played.high


def test_a_reed_tried_once_is_foretold_by_how_it_spoke(finished, shown):
    student = next(iter(finished.students.values()))
    known = Reed.objects.filter(owner=student, stage="played_out").first()
    assert shown(finished.teacher).context["page"].tried.rows == []
    known.events.filter(to_stage__in=["playing", "played_out"]).delete()
    known.events.filter(kind="played").delete()
    known.playing_tests.first().ratings.update(speaks=1)
    known.stage = "finishing"
    known.save()
    (row,) = shown(finished.teacher).context["page"].tried.rows
    assert row.reed == known
    assert "spoke 1.0 of 5" in row.downs
    assert row.chance.value < 0.4


def test_for_a_student_it_does_not_exist_unless_the_teacher_allows_it(finished, shown):
    student = next(iter(finished.students.values()))
    assert shown(student).status_code == 404
    allow(finished.teacher.studio)
    answer = shown(student)
    assert answer.status_code == 200
    (row,) = answer.context["page"].blanks.rows
    assert row.reed.owner == student
    others = [one for one in finished.students.values() if one != student]
    assert not [one for one in others if str(one) in words(answer)]
    assert "<svg" not in drawn(answer)


def test_the_teacher_allows_it_in_the_studios_settings(finished, as_member, shown):
    teacher, studio = finished.teacher, finished.teacher.studio
    given = {"name": studio.name, "time_zone": studio.time_zone, "a4_hz": "442"}
    as_member(teacher).post(teacher.to("studio_settings"), given | {"foretells_to_students": "on"})
    student = next(iter(finished.students.values()))
    assert shown(student).status_code == 200
    as_member(teacher).post(teacher.to("studio_settings"), given)
    assert shown(student).status_code == 404


def test_another_studio_learns_nothing_of_it(finished, shown, as_member, stranger):
    assert as_member(stranger).get(finished.teacher.to("lessons:foretelling")).status_code == 404
    assert shown(stranger).context["page"].blanks.told.n == 0


def test_it_is_only_read(finished, as_member):
    assert as_member(finished.teacher).post(finished.teacher.to("lessons:foretelling")).status_code == 405


@pytest.fixture
def few(finished):
    """Leave so many of the reeds with an outcome, of all hands in turn, and take the others out."""

    def left(n):
        rows = Reed.objects.filter(studio=finished.teacher.studio, stage__in=["played_out", "given_up"])
        in_turn = sorted(rows, key=lambda reed: (reed.number, reed.owner_id))
        rows.exclude(pk__in=[reed.pk for reed in in_turn[:n]]).delete()
        Reed.objects.filter(studio=finished.teacher.studio, stage="playing").delete()

    return left


def test_with_39_outcomes_it_says_how_many_more_and_no_chance(few, finished, shown):
    few(39)
    answer = shown(finished.teacher)
    assert "39 reeds have an outcome so far" in words(answer)
    assert "From 40 on there may be something to say: 1 more." in words(answer)
    assert answer.context["page"].blanks.rows == []
    assert "<svg" not in drawn(answer)


def test_with_40_outcomes_no_better_than_the_share_it_says_the_share_and_nothing_else(few, finished, shown):
    few(40)
    answer = shown(finished.teacher)
    moment = answer.context["page"].blanks
    assert moment.told.n == 40
    assert not moment.is_better
    said = words(answer)
    assert "foretell no better than the share itself:" in said
    assert f"came to play {moment.told.played} of 40: " in said
    before = drawn(answer).split("Once it was tried")[0]
    assert "<svg" not in before
    assert "chance" not in before.split("<h1>")[1]


def test_reeds_of_one_student_alone_are_not_judged(finished, shown):
    students = list(finished.students.values())
    Reed.objects.filter(owner__in=students[1:]).delete()
    assert "of at least 3 students" in words(shown(finished.teacher))


def test_a_studio_without_reeds_is_told_that_there_are_none(shown, teacher):
    assert "0 reeds have an outcome so far" in words(shown(teacher))


def test_the_term_leads_there_only_whom_it_is_open_to(finished, as_member):
    address = finished.teacher.to("lessons:foretelling")
    student = next(iter(finished.students.values()))

    def leads(member):
        return address in as_member(member).get(member.to("lessons:term")).content.decode()

    assert leads(finished.teacher)
    assert not leads(student)
    allow(finished.teacher.studio)
    assert leads(student)


def test_blanks_tied_today_may_be_foretold_before_anything_is_noted(finished, shown):
    student = next(iter(finished.students.values()))
    version = Reed.objects.filter(owner=student).first().version
    new = make.ReedFactory(owner=student, version=version, number=999, stage="tied", flexibility="unknown")
    rows = {row.reed: row for row in shown(finished.teacher).context["page"].blanks.rows}
    assert len(rows[new].unknown) > 3
    assert "Not noted, taken as the usual" in words(shown(finished.teacher))
