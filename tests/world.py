"""A studio with one of everything, and every address of the site with an example and who may open it."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from lessons.answering.annotation import Drawn, Kind, to_annotation
from lessons.answering.models import Answer, Mark, Phrase
from lessons.calendar.actions import make_link
from lessons.lesson.models import Lesson, SetWork
from reeds.numbers.words import Stage
from reeds.photo.actions.card import new_card
from reeds.reed.models.reed import ReedEvent
from reeds.sheet.actions.own import Described, add_own
from studio.addresses import token_for
from studio.models import Invitation, Member, Person, SignInLink
from tests import factories as make

TODAY = dt.date(2026, 3, 2)
NOTE = to_annotation(Drawn(Kind.POINT, ((0.5, 0.5),), "a note", None), uuid.UUID(int=1))


class World:
    """Two studios; in one a teacher, a student with one of everything, and another student."""

    def __init__(self) -> None:
        self.teacher = make.teacher()
        self.studio = self.teacher.studio
        self.student = make.student(studio=self.studio)
        Person.objects.filter(pk=self.student.person_id).update(email_wanted="wanted@example.org")
        self.student.person.refresh_from_db()
        self.fellow = make.student(studio=self.studio)
        self.stranger = make.teacher()
        self.version = make.VersionFactory(pattern__studio=self.studio)
        self.pattern = self.version.pattern
        angle = Described(
            name="angle of the corners", stage=Stage.FINISHING, unit="°", low=0.0, high=90.0, u=2.0
        )
        self.own = add_own(self.teacher, angle)
        self.cane = make.CaneFactory(owner=self.student)
        self.reed = make.ReedFactory(owner=self.student, version=self.version, cane=self.cane)
        self.event = ReedEvent.objects.create(
            studio=self.studio, reed=self.reed, by=self.student, kind="clip", clip_mm=0.5, clip_u=0.1
        )
        self.photo = make.ready_photo(self.reed)
        self.take = make.ready_take(self.reed, hz=445.0)
        self.card = new_card(self.student)
        self.measured = make.measured_photo(self.reed)
        self._round()
        self.begun = make.ReedFactory(owner=self.student, version=self.version)
        self.draft = make.SubmissionFactory(reed=self.begun)
        self.draft_photo = make.ready_photo(self.begun)
        self.draft.photos.add(self.draft_photo)
        self.draft_take = make.ready_take(self.begun)
        self.draft.takes.add(self.draft_take)
        self._lesson()
        self.plan = make.planned_comparison(self.teacher, [self.student], with_blanks=True)
        self.allotment = self.plan.places.first()
        self.term = make.TermFactory(
            studio=self.studio, starts_on=dt.date(2020, 1, 1), ends_on=dt.date(2099, 12, 31)
        )
        self.letter = make.LetterFactory(
            student=self.student, term=self.term, words="Go on.", given_at=timezone.now()
        )
        self.letter_draft = make.LetterFactory(
            student=self.student, term=self.term, version=2, saved_at=timezone.now()
        )
        self.log = make.uploaded_log(self.student)
        self.invitation = Invitation.objects.create(
            studio=self.studio, invited_by=self.teacher, name="Person to come"
        )
        self.link = SignInLink.objects.create(
            studio=self.studio,
            member=self.student,
            made_by=self.teacher,
            expires_at=timezone.now() + dt.timedelta(days=1),
        )
        self.calendar = make_link(self.student)
        self.export = make.ready_export(self.student)

    def _round(self) -> None:
        """A round that was answered, with a mark, and one that waits."""
        now = timezone.now()
        sent = {"stage": "tied", "version": self.version, "sent_at": now}
        self.answered = make.SubmissionFactory(reed=self.reed, answered_at=now, **sent)
        self.answered.photos.add(self.photo)
        self.answered.takes.add(self.take)
        self.answer = Answer.objects.create(
            studio=self.studio, submission=self.answered, author=self.teacher, decision="rest", sent_at=now
        )
        self.mark = Mark.objects.create(
            studio=self.studio, answer=self.answer, photo=self.photo, annotation=NOTE
        )
        self.span = Mark.objects.create(
            studio=self.studio, answer=self.answer, take=self.take, annotation=make.span_mark()
        )
        self.voice = make.ready_voice(self.answer)
        self.shown = make.ready_demonstration(self.teacher)
        self.phrase = Phrase.objects.create(studio=self.studio, teacher=self.teacher, words="Rest it.")
        self.waiting = make.SubmissionFactory(reed=self.reed, round=2, **sent)
        self.waiting.photos.add(self.photo)
        self.waiting.takes.add(self.take)

    def _lesson(self) -> None:
        at = dt.datetime.combine(TODAY, dt.time(15), dt.UTC)
        self.lesson = Lesson.objects.create(
            studio=self.studio, at=at, time_zone=self.studio.time_zone, held_by=self.teacher
        )
        self.lesson.present.add(self.student)
        self.work = SetWork.objects.create(
            studio=self.studio, lesson=self.lesson, student=self.student, words="three blanks", count=3
        )


# who may open a page: everybody, also what is no page but a file, whoever is signed in, the studio's members,
# its teachers, the teachers and the one student whose it is, or that student alone; what is watched says its
# state, 200 or 503, to everybody
OPEN, FILE, WATCHED, SIGNED_IN, MEMBERS, TEACHERS, OWNER, ALONE = (
    "open",
    "file",
    "watched",
    "signed in",
    "members",
    "teachers",
    "owner",
    "alone",
)


@dataclass(frozen=True)
class Page:
    """Who may open an address, and the rest of its arguments after the studio's."""

    who: str
    args: Callable[[World], list[object]] = lambda _world: []


def _pk(name: str, *more: object) -> Callable[[World], list[object]]:
    return lambda world: [getattr(world, name).pk, *more]


PAGES = {
    "start": Page(SIGNED_IN),
    "healthz": Page(FILE),
    "readyz": Page(WATCHED),
    "join": Page(OPEN, lambda world: [world.invitation.token]),
    "sign_in": Page(OPEN, lambda world: [world.link.token]),
    "address": Page(SIGNED_IN, lambda world: [token_for(world.student.person)]),
    "calendar_feed": Page(FILE, lambda world: [world.calendar]),
    "erase_account": Page(SIGNED_IN),
    "what_is_kept": Page(OPEN),
    **dict.fromkeys(("home", "me", "journal"), Page(MEMBERS)),
    "ask_address": Page(MEMBERS),
    "sign_out_elsewhere": Page(MEMBERS),
    "people": Page(TEACHERS),
    "invite": Page(TEACHERS),
    "invitation": Page(TEACHERS, _pk("invitation")),
    "send_invitation": Page(TEACHERS, _pk("invitation")),
    "revoke_invitation": Page(TEACHERS, _pk("invitation")),
    "member": Page(TEACHERS, _pk("student")),
    "consent": Page(TEACHERS, _pk("student")),
    "withdraw_consent": Page(TEACHERS, _pk("student")),
    "end_membership": Page(TEACHERS, _pk("student")),
    "take_back": Page(TEACHERS, _pk("student")),
    "drop_second_step": Page(TEACHERS, _pk("student")),
    "make_sign_in_link": Page(TEACHERS, _pk("student")),
    "sign_in_link": Page(TEACHERS, _pk("link")),
    "terms": Page(TEACHERS),
    "new_term": Page(TEACHERS),
    "edit_term": Page(TEACHERS, _pk("term")),
    "drop_term": Page(TEACHERS, _pk("term")),
    "studio_settings": Page(TEACHERS),
    "reeds:reeds": Page(MEMBERS),
    "reeds:make": Page(MEMBERS),
    "reeds:reed": Page(OWNER, _pk("reed")),
    "reeds:made": Page(OWNER, lambda world: [world.reed.batch]),
    "reeds:numbers": Page(OWNER, _pk("reed")),
    "reeds:step": Page(OWNER, _pk("reed")),
    "reeds:clip": Page(OWNER, _pk("reed")),
    "reeds:strokes": Page(OWNER, _pk("reed")),
    "reeds:life": Page(OWNER, _pk("reed")),
    "reeds:give_up": Page(OWNER, _pk("reed")),
    "reeds:made_of": Page(OWNER, _pk("reed")),
    "reeds:move_sheet": Page(TEACHERS, _pk("reed")),
    "reeds:take_out": Page(OWNER, _pk("reed")),
    "reeds:take_back": Page(OWNER, _pk("event")),
    "reeds:cane": Page(MEMBERS),
    "reeds:cane_add": Page(MEMBERS),
    "reeds:cane_lot": Page(OWNER, _pk("cane")),
    "reeds:cane_finish": Page(OWNER, _pk("cane")),
    "reeds:patterns": Page(MEMBERS),
    "reeds:pattern_new": Page(TEACHERS),
    "reeds:pattern": Page(MEMBERS, _pk("pattern")),
    "reeds:pattern_edit": Page(TEACHERS, _pk("pattern")),
    "reeds:playing_edit": Page(TEACHERS, _pk("pattern")),
    "reeds:pattern_put_away": Page(TEACHERS, _pk("pattern")),
    "reeds:doubts": Page(TEACHERS),
    "reeds:own": Page(TEACHERS),
    "reeds:own_number": Page(TEACHERS),
    "reeds:own_seen": Page(TEACHERS),
    "reeds:own_change": Page(TEACHERS, _pk("own")),
    "reeds:own_retire": Page(TEACHERS, _pk("own")),
    "reeds:offsets": Page(OWNER, _pk("student")),
    "reeds:box": Page(MEMBERS),
    "reeds:sharpened": Page(MEMBERS),
    "reeds:how_sure": Page(MEMBERS),
    "reeds:check_tool": Page(MEMBERS),
    "reeds:by_caliper": Page(OWNER, _pk("photo")),
    "reeds:card": Page(MEMBERS),
    "reeds:compare": Page(MEMBERS),
    "reeds:flat": Page(OWNER, _pk("measured")),
    "reeds:flatten": Page(OWNER, _pk("measured")),
    "reeds:flattening": Page(OWNER, _pk("measured")),
    "reeds:measure": Page(OWNER, _pk("photo")),
    "reeds:look": Page(OWNER, _pk("photo")),
    "reeds:looking": Page(OWNER, _pk("photo")),
    "reeds:figures": Page(OWNER, _pk("photo")),
    "reeds:keep_lengths": Page(OWNER, _pk("photo")),
    "reeds:opening": Page(OWNER, _pk("photo")),
    "reeds:opening_this": Page(OWNER, _pk("photo")),
    "reeds:opening_figures": Page(OWNER, _pk("photo")),
    "reeds:opening_keep": Page(OWNER, _pk("photo")),
    "reeds:card_bar": Page(OWNER, _pk("card")),
    "reeds:card_file": Page(OWNER, _pk("card", "pdf")),
    "reeds:photo": Page(OWNER, _pk("photo", "screen")),
    "reeds:take": Page(OWNER, _pk("take")),
    "reeds:take_heard": Page(OWNER, _pk("take")),
    "reeds:take_sound": Page(OWNER, _pk("take")),
    "reeds:reference": Page(ALONE, _pk("reed")),
    "lessons:desk": Page(MEMBERS),
    "lessons:send": Page(MEMBERS),
    "lessons:draft": Page(ALONE, _pk("begun")),
    "lessons:save": Page(ALONE, _pk("begun")),
    "lessons:stage": Page(ALONE, _pk("begun")),
    "lessons:photo": Page(ALONE, _pk("begun")),
    "lessons:photo_view": Page(ALONE, lambda world: [world.begun.pk, world.draft_photo.pk]),
    "lessons:photo_remove": Page(ALONE, lambda world: [world.begun.pk, world.draft_photo.pk]),
    "lessons:take": Page(ALONE, _pk("begun")),
    "lessons:take_remove": Page(ALONE, lambda world: [world.begun.pk, world.draft_take.pk]),
    "lessons:prepared": Page(OWNER, _pk("photo")),
    "lessons:go": Page(ALONE, _pk("begun")),
    "lessons:next": Page(ALONE, _pk("begun")),
    "lessons:round": Page(OWNER, _pk("answered")),
    "lessons:read": Page(OWNER, _pk("answered")),
    "lessons:queue": Page(TEACHERS),
    "lessons:together": Page(TEACHERS),
    "lessons:review": Page(TEACHERS, _pk("waiting")),
    "lessons:looking": Page(TEACHERS, _pk("waiting")),
    "lessons:claim": Page(TEACHERS, _pk("waiting")),
    "lessons:mark": Page(TEACHERS, _pk("waiting")),
    "lessons:drop_mark": Page(TEACHERS, _pk("waiting")),
    "lessons:span": Page(TEACHERS, lambda world: [world.waiting.pk, world.take.pk]),
    "lessons:drop_span": Page(TEACHERS, lambda world: [world.waiting.pk, world.take.pk]),
    "lessons:keep": Page(TEACHERS, _pk("waiting")),
    "lessons:answer": Page(TEACHERS, _pk("waiting")),
    "lessons:take_back": Page(TEACHERS, _pk("answered")),
    "lessons:reply": Page(OWNER, _pk("answered")),
    "lessons:marks": Page(OWNER, _pk("answered")),
    "lessons:phrases": Page(TEACHERS),
    "lessons:keep_phrase": Page(TEACHERS),
    "lessons:change_phrase": Page(TEACHERS, _pk("phrase")),
    "lessons:drop_phrase": Page(TEACHERS, _pk("phrase")),
    "lessons:used_phrase": Page(TEACHERS, _pk("phrase")),
    "lessons:put_voice": Page(TEACHERS, _pk("waiting")),
    "lessons:drop_voice": Page(TEACHERS, _pk("waiting")),
    "lessons:voice": Page(OWNER, _pk("voice")),
    "lessons:voice_sound": Page(OWNER, _pk("voice")),
    "lessons:foretelling": Page(TEACHERS),
    "lessons:demonstrations": Page(MEMBERS),
    "lessons:demonstration_new": Page(TEACHERS),
    "lessons:demonstration": Page(MEMBERS, _pk("shown")),
    "lessons:demonstration_edit": Page(TEACHERS, _pk("shown")),
    "lessons:demonstration_away": Page(TEACHERS, _pk("shown")),
    "lessons:demonstration_kept": Page(MEMBERS, _pk("shown")),
    "lessons:demonstration_photo": Page(MEMBERS, _pk("shown", "screen")),
    "lessons:demonstration_sound": Page(MEMBERS, _pk("shown")),
    "lessons:erase": Page(TEACHERS, _pk("student")),
    "lessons:agree_to_erase": Page(TEACHERS, _pk("student")),
    **dict.fromkeys(("lessons:erase_me", "lessons:ask_erasure", "lessons:stay"), Page(MEMBERS)),
    "lessons:kept": Page(MEMBERS),
    "lessons:keeping": Page(TEACHERS),
    "lessons:lessons": Page(MEMBERS),
    "lessons:lesson_new": Page(TEACHERS),
    "lessons:lesson": Page(OWNER, _pk("lesson")),
    "lessons:lesson_note": Page(OWNER, _pk("lesson")),
    "lessons:lesson_agree": Page(TEACHERS, _pk("lesson")),
    "lessons:lesson_edit": Page(TEACHERS, _pk("lesson")),
    "lessons:lesson_remove": Page(TEACHERS, _pk("lesson")),
    "lessons:work_new": Page(TEACHERS),
    "lessons:work": Page(OWNER, _pk("work")),
    "lessons:work_reeds": Page(OWNER, _pk("work")),
    "lessons:work_remove": Page(TEACHERS, _pk("work")),
    "lessons:calendar": Page(MEMBERS),
    "lessons:calendar_make": Page(MEMBERS),
    "lessons:calendar_take_back": Page(MEMBERS),
    "lessons:export": Page(MEMBERS),
    "lessons:export_state": Page(MEMBERS),
    "lessons:export_file": Page(ALONE, _pk("export")),
    "lessons:export_drop": Page(ALONE, _pk("export")),
    "lessons:letters": Page(MEMBERS),
    "lessons:letter": Page(OWNER, _pk("letter")),
    "lessons:letter_write": Page(TEACHERS, lambda world: [world.student.pk, world.term.pk]),
    "lessons:letter_voice": Page(TEACHERS, lambda world: [world.student.pk, world.term.pk]),
    "lessons:letter_drop_voice": Page(TEACHERS, lambda world: [world.student.pk, world.term.pk]),
    "lessons:letter_give": Page(TEACHERS, _pk("letter_draft")),
    "lessons:letter_away": Page(TEACHERS, _pk("letter_draft")),
    "lessons:letter_make": Page(OWNER, _pk("letter")),
    "lessons:letter_made": Page(OWNER, _pk("letter")),
    "lessons:letter_pdf": Page(OWNER, _pk("letter")),
    "lessons:report": Page(TEACHERS, _pk("term")),
    "lessons:report_make": Page(TEACHERS, _pk("term")),
    "lessons:report_made": Page(TEACHERS, _pk("term")),
    "lessons:report_pdf": Page(TEACHERS, _pk("term")),
    "lessons:ask": Page(TEACHERS),
    "lessons:comparisons": Page(MEMBERS),
    "lessons:comparison_new": Page(TEACHERS),
    "lessons:comparison": Page(OWNER, _pk("plan")),
    "lessons:comparison_blank": Page(OWNER, _pk("plan")),
    "lessons:comparison_stop": Page(TEACHERS, _pk("plan")),
    "lessons:comparison_take_back": Page(TEACHERS, _pk("plan")),
    "lessons:comparison_put_away": Page(TEACHERS, _pk("plan")),
    "lessons:comparison_not_kept": Page(OWNER, _pk("allotment")),
    "lessons:logs": Page(MEMBERS),
    "lessons:log": Page(OWNER, _pk("log")),
    "lessons:log_choose": Page(OWNER, _pk("log")),
    "lessons:log_bring_in": Page(OWNER, _pk("log")),
    "lessons:log_take_back": Page(OWNER, _pk("log")),
    "lessons:log_drop": Page(OWNER, _pk("log")),
    "lessons:term": Page(OWNER, _pk("student")),
    "lessons:term_reckoned": Page(MEMBERS),
}


@dataclass(frozen=True)
class Address:
    """One line of the site's addresses."""

    name: str
    route: str
    arguments: tuple[str, ...]

    def __str__(self) -> str:
        return self.route or "/"

    @property
    def page(self) -> Page:
        """Who may open it: a list of one's own, without an argument, is every member's."""
        page = Page(OPEN) if self.route.startswith("account/") else PAGES[self.name]
        return Page(MEMBERS) if page.who == OWNER and self.rest == () else page

    @property
    def in_studio(self) -> bool:
        return "studio" in self.arguments

    @property
    def rest(self) -> tuple[str, ...]:
        return tuple(one for one in self.arguments if one != "studio")

    def of(self, world: World) -> str:
        """Return the address of the example in this world."""
        args = self.page.args(world) if self.rest else []
        return reverse(self.name, args=[world.studio.pk, *args] if self.in_studio else args)


def _walk(
    resolver: URLResolver, prefix: str = "", route: str = "", above: tuple[str, ...] = ()
) -> Iterator[Address]:
    for entry in resolver.url_patterns:
        arguments = (*above, *entry.pattern.converters)
        path = route + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield Address(f"{prefix}{entry.name}", path, arguments)
        else:
            space = f"{prefix}{entry.namespace}:" if entry.namespace else prefix
            yield from _walk(entry, space, path, arguments)


ADDRESSES = list(_walk(get_resolver()))
OURS = [address for address in ADDRESSES if not address.route.startswith("account/")]
KNOWN = [address for address in OURS if address.name in PAGES]  # all of them, or test_access fails


def may_open(page: Page, world: World) -> list[Member]:
    """Return which of the cast may open it."""
    return {
        OPEN: [world.student, world.teacher],
        FILE: [world.student, world.teacher],
        WATCHED: [world.student, world.teacher],
        SIGNED_IN: [world.student, world.teacher],
        MEMBERS: [world.student, world.fellow, world.teacher],
        TEACHERS: [world.teacher],
        OWNER: [world.student, world.teacher],
        ALONE: [world.student],
    }[page.who]
