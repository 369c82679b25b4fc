"""What a teacher reads first of a round: what is asked, one line a cause, this stage's numbers."""

from html.parser import HTMLParser

import pytest

from lessons.answering.models import Reply
from reeds.reed.models.measurement import Measurement
from tests import factories as make


@pytest.fixture
def came(as_member, teacher):
    """Return a function that gives what was sent as the review page shows it."""

    def shown(row):
        page = as_member(teacher).get(teacher.to("lessons:review", row.pk)).content.decode()
        return page[page.index('class="review-came"') : page.index('class="review-bench"')]

    return shown


class Unfolded(HTMLParser):
    """Gathers what can be read before anything is unfolded."""

    def __init__(self):
        super().__init__()
        self.words = ""
        self.seen = []  # one for each <details> around: whether one sees what comes

    def handle_starttag(self, tag, attrs):
        if tag == "details":
            self.seen.append("open" in dict(attrs))
        if tag == "summary":
            self.seen.append(True)
            self.seen[-2] = True

    def handle_endtag(self, tag):
        if tag == "summary":
            self.seen[-2:] = [False]
        if tag == "details":
            self.seen.pop()

    def handle_data(self, data):
        if all(self.seen):
            self.words += data


def unfolded(html):
    parser = Unfolded()
    parser.feed(html)
    return parser.words


def found(*outcomes, **given):
    return [make.finding(one, message=f"Cause {n}.", **given) for n, one in enumerate(outcomes)]


def test_the_question_comes_first_then_the_causes_then_the_numbers(came, student):
    row = make.sent_round(student, question="Too long?", findings=found("above"))
    number = {"studio": row.studio, "reed": row.reed, "u": 0.2, "method": "ruler"}
    here = Measurement.objects.create(**number, quantity="tie_length", value=73.5, stage=row.stage)
    past = Measurement.objects.create(**number, quantity="gouge", value=0.6, stage="cane")
    row.measurements.add(here, past)
    text = unfolded(came(row))
    places = [text.index(part) for part in ("Too long?", "Cause 0.", "73.5 ± 0.2")]
    assert places == sorted(places)
    assert "0.6 ± 0.2" not in text
    assert "0.6 ± 0.2" in came(row)


def test_a_cause_is_one_line_with_its_step_folded(came, student):
    row = make.sent_round(student, findings=found("above", next_step="Clip a little.", caution="Mind it."))
    assert "Cause 0." in unfolded(came(row))
    for part in ("Clip a little.", "Mind it."):
        assert part not in unfolded(came(row))
        assert part in came(row)


def test_doubts_what_is_as_it_should_be_and_the_fourth_cause_are_folded_and_counted(came, student):
    outcomes = ["above"] * 5 + ["too_close"] * 6 + ["within"] * 2
    html = came(make.sent_round(student, findings=found(*outcomes)))
    text = unfolded(html)
    for count in ("2 more off the sheet", "6 to measure again", "2 as they should be"):
        assert count in text
    assert [f"Cause {n}." in text for n in range(5)] == [True] * 3 + [False] * 2
    assert "Cause 5." not in text
    assert "Cause 11." not in text
    for n in range(len(outcomes)):
        assert f"Cause {n}." in html


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
