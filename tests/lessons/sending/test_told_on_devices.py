"""Who chose so is told on their devices: once, sealed, of no reed and no word; and only who may know."""

import datetime as dt
import json

import pytest
from django.core import mail
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from lessons.answering import actions, tasks
from lessons.answering.models import Reply, Written
from lessons.sending import tasks as telling
from lessons.sending.models import Notice
from studio.push.phones import Phone
from studio.push.sending import NotTaken
from studio.queues import Hand
from tests import factories as make
from tests.studio.push_service import running

WORDS = "Secret words of 71 mm"


@pytest.fixture
def service(tmp_path, monkeypatch, settings):
    with running(tmp_path, monkeypatch, settings) as service:
        yield service


@pytest.fixture
def told_on(service, as_member):
    """Return a function that has a member told on a device of this name, as their page does."""

    def chosen(member, name="one"):
        browser = service.browser(name)
        answer = as_member(member).post(member.to("told"), {"told_by": "phone", **browser.gives})
        assert answer.status_code == 302
        member.person.refresh_from_db()
        return browser

    return chosen


@pytest.fixture
def child(teacher):
    return make.student(studio=teacher.studio, under_age=True, person__name="Zacharias")


@pytest.fixture
def answered(child, teacher):
    round_ = make.sent_round(child, question=WORDS)
    return answer_to(round_, teacher)


def answer_to(round_, teacher):
    answer = actions.answer_of(round_, teacher)
    actions.keep_answer(answer, Written(words=WORDS, decision="play"))
    actions.send_answer(answer)
    answer.refresh_from_db()
    return answer


def tell(answer):
    tasks.tell_of_answer.func(answer.pk, answer.sent_at.isoformat())


def test_a_child_is_told_that_there_is_an_answer_and_nothing_else(service, told_on, answered, child, teacher):
    browser = told_on(child)
    tell(answered)
    assert service.came_to(browser) == [
        {
            "title": str(child.studio),
            "body": "There is an answer.",
            "path": child.to("lessons:round", answered.submission_id),
            "tag": f"studio-{child.studio_id}",
            "unread": 1,
            "elsewhere": 0,
        }
    ]
    assert mail.outbox == []
    ((_path, headers, body),) = service.got
    clear = json.dumps(service.came_to(browser)) + json.dumps(headers) + body.decode("latin-1")
    for secret in (WORDS, str(child), str(teacher), "play it", f"Reed {answered.submission.reed.number}"):
        assert secret not in clear


def test_it_is_told_once_whoever_tries_again(service, told_on, answered, child):
    told_on(child)
    told_on(child, "two")
    for _worker in range(3):
        tell(answered)
    assert sorted(path for path, *_rest in service.got) == ["/push/one", "/push/two"]


def test_several_answers_of_a_sitting_are_one_notice(service, told_on, child, teacher):
    browser = told_on(child)
    rows = [make.sent_round(child, reed=make.ReedFactory(owner=child)) for _reed in range(3)]
    answers = [answer_to(row, teacher) for row in rows]
    for answer in answers:
        tell(answer)
    (notice,) = service.came_to(browser)
    assert (notice["body"], notice["unread"], notice["path"]) == ("There are answers.", 3, child.to("home"))


def test_what_is_unread_in_another_studio_is_counted_apart_for_the_icon_that_stands_for_both(
    service, told_on, answered, child, teacher, as_member
):
    other = make.teacher()
    there = make.student(studio=other.studio, person=child.person)
    for _reed in range(2):
        answer_to(make.sent_round(there, reed=make.ReedFactory(owner=there)), other)
    browser = told_on(child)
    tell(answered)
    (notice,) = service.came_to(browser)
    assert (notice["unread"], notice["elsewhere"]) == (1, 2)
    for who, here, elsewhere in ((child, 1, 2), (there, 2, 1)):
        page = as_member(who).get(who.to("lessons:desk")).text
        assert f"({here})" in page
        assert f'data-unread-elsewhere="{elsewhere}"' in page
    assert "data-unread-elsewhere" not in as_member(teacher).get(teacher.to("lessons:queue")).text


def test_each_side_is_told_of_what_was_said_back_and_nobody_else(
    service, told_on, answered, child, teacher, other_student, stranger
):
    guardian = make.guardian(child)
    mine, theirs = told_on(child), told_on(teacher, "two")
    others = [told_on(one, one.person.username) for one in (other_student, stranger)]
    for by in (child, teacher):
        said = Reply.objects.create(studio=by.studio, submission=answered.submission, by=by, words=WORDS)
        tasks.tell_of_reply.func(said.pk)
    assert [one["body"] for one in service.came_to(mine)] == ["Something was said back."]
    assert [one["body"] for one in service.came_to(theirs)] == ["Something was said back."]
    assert [service.came_to(one) for one in others] == [[], []]
    assert not Notice.objects.filter(to=guardian).exists()
    assert mail.outbox == []


def test_who_teaches_is_told_that_a_reed_waits(service, told_on, child, teacher):
    browser, round_ = told_on(teacher), make.sent_round(child)
    telling.tell_of_round.func(round_.pk)
    (notice,) = service.came_to(browser)
    assert (notice["body"], notice["unread"]) == ("A reed waits for an answer.", 0)
    assert notice["path"] == teacher.to("lessons:review", round_.pk)


def test_who_chose_neither_is_told_nothing(answered, child, as_member):
    as_member(child).post(child.to("told"), {"told_by": "neither"})
    tell(answered)
    assert mail.outbox == []
    assert not Notice.objects.exists()


def test_who_left_is_told_nothing(service, told_on, answered, child):
    told_on(child)
    type(child).objects.filter(pk=child.pk).update(left_at=timezone.now())
    tell(answered)
    assert service.got == []


def test_where_no_device_is_left_an_e_mail_goes(service, told_on, answered, child):
    told_on(child)
    told_on(child, "two")
    service.answers.update({"/push/one": 410, "/push/two": 404})
    tell(answered)
    assert [one.to for one in mail.outbox] == [[child.person.email]]
    assert not Phone.objects.exists()
    tell(answered)
    assert len(mail.outbox) == 1


def test_one_device_that_went_away_is_no_reason_for_an_e_mail(service, told_on, answered, child):
    told_on(child)
    left = told_on(child, "two")
    service.answers["/push/one"] = 410
    tell(answered)
    assert len(service.came_to(left)) == 1
    assert mail.outbox == []


def test_signed_out_everywhere_it_goes_by_e_mail(service, told_on, answered, child, as_member):
    told_on(child)
    as_member(child).post(child.to("sign_out_elsewhere"))
    tell(answered)
    assert service.got == []
    assert len(mail.outbox) == 1


def test_what_a_service_refuses_is_tried_again_there_and_nowhere_else(service, told_on, answered, child):
    told_on(child)
    told_on(child, "two")
    service.answers["/push/one"] = 500
    for _try in range(2):
        with pytest.raises(NotTaken):
            tell(answered)
    service.answers.clear()
    tell(answered)
    tell(answered)
    paths = [path for path, *_rest in service.got]
    assert (paths.count("/push/one"), paths.count("/push/two")) == (3, 1)
    assert mail.outbox == []


def test_one_persons_silent_service_holds_up_no_other(service, told_on, answered, child, teacher):
    colleague = make.teacher(studio=teacher.studio)
    answer_to(answered.submission, colleague)
    told_on(teacher)
    service.answers["/push/one"] = 503
    said = Reply.objects.create(
        studio=child.studio, submission=answered.submission, by=child, words="It holds now."
    )
    for _try in range(2):
        with pytest.raises(NotTaken):
            tasks.tell_of_reply.func(said.pk)
    assert [one.to for one in mail.outbox] == [[colleague.person.email]]


def test_by_the_worker_it_is_retried_and_given_up_quietly(
    service, told_on, answered, child, worker_later, teacher
):
    told_on(child)
    said = Reply.objects.create(studio=child.studio, submission=answered.submission, by=teacher, words="Rest")
    tasks.tell_of_reply.enqueue(said.pk)
    service.answers["/push/one"] = 500
    hand = Hand(["mail"], None, 0)
    hand.run_all()
    assert DBTaskResult.objects.get().status == "FAILED"
    service.answers.clear()
    DBTaskResult.objects.update(status="READY", started_at=None, finished_at=None)
    hand.run_all()
    Hand(["mail"], None, 0).run_all()
    assert DBTaskResult.objects.get().status == "SUCCESSFUL"
    assert len(service.got) == 2


# --- replies of one sitting ------------------------------------------------------------------------


def say(answered, by, minutes):
    said = Reply.objects.create(studio=by.studio, submission=answered.submission, by=by, words="More.")
    moment = answered.sent_at + dt.timedelta(minutes=minutes)
    Reply.objects.filter(pk=said.pk).update(at=moment)
    tasks.tell_of_reply.func(said.pk)


def test_words_of_one_sitting_are_one_e_mail_until_they_are_read(answered, child, teacher):
    for minutes in (1, 4, 8, 12):
        say(answered, child, minutes)
    assert [one.to for one in mail.outbox] == [[teacher.person.email]]
    say(answered, child, 30)
    assert len(mail.outbox) == 2
    actions.note_read(answered.submission, teacher)
    say(answered, child, 31)
    assert len(mail.outbox) == 3
