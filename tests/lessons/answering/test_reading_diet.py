"""What a teacher reads first of a round: what is asked, one line a cause, this stage's numbers."""

import pytest

from lessons.answering.models import Reply
from reeds.reed.models.measurement import Measurement
from tests import factories as make
from tests.lessons.answering.reading import came_in, unfolded


@pytest.fixture
def came(as_member, teacher):
    """Return a function that gives what was sent as the review page shows it."""

    def shown(row):
        return came_in(as_member(teacher).get(teacher.to("lessons:review", row.pk)))

    return shown


@pytest.fixture
def rest(as_member, teacher):
    """Return a function that gives what "The rest" unfolds of a round."""
    return lambda row: as_member(teacher).get(teacher.to("lessons:rest", row.pk)).content.decode()


def found(*outcomes, **given):
    return [make.finding(one, message=f"Cause {n}.", **given) for n, one in enumerate(outcomes)]


def test_the_question_comes_first_then_the_causes_then_the_numbers(came, rest, student):
    row = make.sent_round(student, question="Too long?", findings=found("above"))
    number = {"studio": row.studio, "reed": row.reed, "u": 0.2, "method": "ruler"}
    here = Measurement.objects.create(**number, quantity="tie_length", value=73.5, stage=row.stage)
    past = Measurement.objects.create(**number, quantity="gouge", value=0.6, stage="cane")
    row.measurements.add(here, past)
    text = unfolded(came(row))
    places = [text.index(part) for part in ("Too long?", "Cause 0.", "73.5 ± 0.2")]
    assert places == sorted(places)
    assert "0.6 ± 0.2" not in text
    assert "0.6 ± 0.2" not in came(row)
    assert "0.6 ± 0.2" in rest(row)


def test_a_cause_is_one_line_with_its_step_folded(came, student):
    row = make.sent_round(student, findings=found("above", next_step="Clip a little.", caution="Mind it."))
    assert "Cause 0." in unfolded(came(row))
    for part in ("Clip a little.", "Mind it."):
        assert part not in unfolded(came(row))
        assert part in came(row)


def test_doubts_what_is_as_it_should_be_and_the_fourth_cause_are_folded_and_counted(came, rest, student):
    outcomes = ["above"] * 5 + ["too_close"] * 6 + ["within"] * 2
    row = make.sent_round(student, findings=found(*outcomes))
    html = came(row)
    text = unfolded(html)
    for count in ("2 more off the sheet", "6 to measure again"):
        assert count in text
    assert "2 as they should be" in rest(row)
    assert "2 as they should be" not in html
    assert [f"Cause {n}." in text for n in range(5)] == [True] * 3 + [False] * 2
    assert "Cause 5." not in text
    assert "Cause 11." not in text
    for n in range(len(outcomes)):
        assert f"Cause {n}." in html + rest(row)


def test_what_was_said_back_and_is_not_read_comes_before_everything(came, as_member, student, teacher):
    row = make.sent_round(student, question="What now?")
    for words, by in (("Now it leaks.", student), ("Try again.", teacher)):
        Reply.objects.create(studio=row.studio, submission=row, by=by, words=words)
    html = came(row)
    text = unfolded(html)
    assert text.index("Now it leaks.") < text.index("What now?")
    assert "Try again." not in text
    read = f'hx-post="{teacher.to("lessons:read", row.pk)}" hx-trigger="load"'
    assert html.count(read) == 1
    as_member(teacher).post(teacher.to("lessons:read", row.pk))
    assert "Now it leaks." not in unfolded(came(row))
    assert read not in came(row)


def test_beside_several_causes_fewer_numbers_are_read_at_once(came, student):
    keys = ("tie_length", "staple_length", "cane_beyond_staple", "slip")
    for causes, seen in ((1, 4), (2, 3), (5, 2)):
        row = make.sent_round(student, findings=found(*["above"] * causes, quantity="slip"))
        for key in keys:
            number = {"studio": row.studio, "reed": row.reed, "u": 0.2, "method": "ruler"}
            row.measurements.add(
                Measurement.objects.create(**number, quantity=key, value=7.5, stage=row.stage)
            )
        text = unfolded(came(row))
        assert text.count("7.5 ± 0.2") == seen
        assert "slip" in text  # what something was found of comes first


def test_what_comes_of_a_cause_and_what_shows_it_are_folded_under_it(came, student):
    head = make.finding("above", message="The head.", parts=[make.finding("above", message="A part.")])
    html = came(make.sent_round(student, findings=[head]))
    assert "The head." in unfolded(html)
    assert "more comes of it" not in unfolded(html)
    assert "A part." in html


def test_of_a_cause_in_two_sentences_the_first_is_read_at_once(came, student):
    two = make.finding("above", message="It is 3.5 mm too long. The newer is used.")
    html = came(make.sent_round(student, findings=[two]))
    assert "It is 3.5 mm too long." in unfolded(html)
    assert "The newer is used." not in unfolded(html)
    assert "The newer is used." in html
