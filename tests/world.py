"""A studio with one of everything, and every address of the site with an example and who may open it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from studio.addresses import token_for
from studio.models import Member
from tests.cast import World

# who may open a page: everybody, also what is no page but a file, whoever is signed in; what is watched says
# its state, 200 or 503, to everybody
OPEN, FILE, WATCHED, SIGNED_IN = "open", "file", "watched", "signed in"
# in the studio: all of it, all but guardians, whoever teaches, the one teacher without assistants
EVERYBODY, MEMBERS, TEACHING, TEACHERS = "everybody", "members", "teaching", "teachers"
# of those who learn here, each for themselves
STUDENTS = "students"
# of what is one student's: they and who teaches, their guardian too, they and the teachers, they alone
OWNER, FAMILY, OWN_OR_TEACHERS, ALONE = "owner", "family", "own or teachers", "alone"
# the guardian of that student, and every guardian
GUARDIAN, GUARDIANS = "guardian", "guardians"


@dataclass(frozen=True)
class Page:
    """Who may open an address, and the rest of its arguments after the studio's."""

    who: str
    args: Callable[[World], list[object]] = lambda _world: []


def _pk(name: str, *more: object) -> Callable[[World], list[object]]:
    return lambda world: [getattr(world, name).pk, *more]


PAGES = {
    "start": Page(SIGNED_IN),
    "manifest": Page(FILE),
    "service_worker": Page(FILE),
    "offline": Page(OPEN),
    "language": Page(OPEN),
    "healthz": Page(FILE),
    "readyz": Page(WATCHED),
    "join": Page(OPEN, lambda world: [world.invitation.token]),
    "sign_in": Page(OPEN, lambda world: [world.link.token]),
    "address": Page(SIGNED_IN, lambda world: [token_for(world.student.person)]),
    "calendar_feed": Page(FILE, lambda world: [world.calendar]),
    "erase_account": Page(SIGNED_IN),
    "what_is_kept": Page(OPEN),
    "journal": Page(EVERYBODY),
    "home": Page(EVERYBODY),
    "me": Page(EVERYBODY),
    "told": Page(MEMBERS),
    "reading": Page(EVERYBODY),
    "ask_address": Page(EVERYBODY),
    "sign_out_elsewhere": Page(EVERYBODY),
    "people": Page(TEACHING),
    "invite": Page(TEACHING),
    "invitation": Page(TEACHERS, _pk("invitation")),
    "send_invitation": Page(TEACHERS, _pk("invitation")),
    "revoke_invitation": Page(TEACHERS, _pk("invitation")),
    "member": Page(TEACHERS, _pk("student")),
    "consent": Page(TEACHERS, _pk("student")),
    "withdraw_consent": Page(TEACHERS, _pk("student")),
    "change_role": Page(TEACHERS, _pk("student")),
    "tie_children": Page(TEACHERS, _pk("guardian")),
    "child_consent": Page(GUARDIAN, _pk("student")),
    "give_consent": Page(GUARDIAN, _pk("student")),
    "take_consent_back": Page(GUARDIAN, _pk("student")),
    "erase_hidden": Page(GUARDIAN, _pk("student")),
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
    "reeds:reeds": Page(EVERYBODY),
    "reeds:make": Page(MEMBERS),
    "reeds:reed": Page(FAMILY, _pk("reed")),
    "reeds:made": Page(OWNER, lambda world: [world.reed.batch]),
    "reeds:bench": Page(OWNER, _pk("reed", "step")),
    "reeds:numbers": Page(OWNER, _pk("reed")),
    "reeds:step": Page(OWNER, _pk("reed")),
    "reeds:clip": Page(OWNER, _pk("reed")),
    "reeds:strokes": Page(OWNER, _pk("reed")),
    "reeds:life": Page(OWNER, _pk("reed")),
    "reeds:give_up": Page(OWNER, _pk("reed")),
    "reeds:made_of": Page(OWNER, _pk("reed")),
    "reeds:move_sheet": Page(TEACHING, _pk("reed")),
    "reeds:take_out": Page(OWN_OR_TEACHERS, _pk("reed")),
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
    "reeds:how_sure": Page(EVERYBODY),
    "reeds:check_tool": Page(MEMBERS),
    "reeds:by_caliper": Page(OWNER, _pk("photo")),
    "reeds:card": Page(MEMBERS),
    "reeds:compare": Page(MEMBERS),
    "reeds:flat": Page(FAMILY, _pk("measured")),
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
    "reeds:photo": Page(FAMILY, _pk("photo", "screen")),
    "reeds:take": Page(FAMILY, _pk("take")),
    "reeds:take_heard": Page(FAMILY, _pk("take")),
    "reeds:take_sound": Page(FAMILY, _pk("take")),
    "reeds:reference": Page(ALONE, _pk("reed")),
    "lessons:children": Page(GUARDIANS),
    "lessons:desk": Page(MEMBERS),
    "lessons:to_keep": Page(STUDENTS),
    "lessons:send": Page(MEMBERS),
    "lessons:draft": Page(ALONE, _pk("begun")),
    "lessons:limits": Page(ALONE, _pk("begun")),
    "lessons:save": Page(ALONE, _pk("begun")),
    "lessons:stage": Page(ALONE, _pk("begun")),
    "lessons:photo": Page(ALONE, _pk("begun")),
    "lessons:photo_view": Page(ALONE, lambda world: [world.begun.pk, world.draft_photo.pk]),
    "lessons:photo_remove": Page(ALONE, lambda world: [world.begun.pk, world.draft_photo.pk]),
    "lessons:take": Page(ALONE, _pk("begun")),
    "lessons:take_remove": Page(ALONE, lambda world: [world.begun.pk, world.draft_take.pk]),
    "lessons:prepared": Page(FAMILY, _pk("photo")),
    "lessons:go": Page(ALONE, _pk("begun")),
    "lessons:next": Page(ALONE, _pk("begun")),
    "lessons:round": Page(FAMILY, _pk("answered")),
    "lessons:read": Page(OWNER, _pk("answered")),
    "lessons:round_back": Page(ALONE, _pk("answered")),
    "lessons:queue": Page(TEACHING),
    "lessons:together": Page(TEACHING),
    "lessons:review": Page(TEACHING, _pk("waiting")),
    "lessons:rest": Page(TEACHING, _pk("waiting")),
    "lessons:beside": Page(TEACHING, _pk("waiting")),
    "lessons:steps": Page(TEACHING, _pk("waiting")),
    "lessons:looking": Page(TEACHING, _pk("waiting")),
    "lessons:claim": Page(TEACHING, _pk("waiting")),
    "lessons:mark": Page(TEACHING, _pk("waiting")),
    "lessons:drop_mark": Page(TEACHING, _pk("waiting")),
    "lessons:span": Page(TEACHING, lambda world: [world.waiting.pk, world.take.pk]),
    "lessons:drop_span": Page(TEACHING, lambda world: [world.waiting.pk, world.take.pk]),
    "lessons:keep": Page(TEACHING, _pk("waiting")),
    "lessons:answer": Page(TEACHING, _pk("waiting")),
    "lessons:take_back": Page(TEACHING, _pk("answered")),
    "lessons:reply": Page(OWNER, _pk("answered")),
    "lessons:marks": Page(OWNER, _pk("answered")),
    "lessons:phrases": Page(TEACHING),
    "lessons:keep_phrase": Page(TEACHING),
    "lessons:change_phrase": Page(TEACHERS, _pk("phrase")),
    "lessons:drop_phrase": Page(TEACHERS, _pk("phrase")),
    "lessons:used_phrase": Page(TEACHERS, _pk("phrase")),
    "lessons:put_voice": Page(TEACHING, _pk("waiting")),
    "lessons:drop_voice": Page(TEACHING, _pk("waiting")),
    "lessons:voice": Page(FAMILY, _pk("voice")),
    "lessons:voice_sound": Page(FAMILY, _pk("voice")),
    "lessons:foretelling": Page(TEACHING),
    "lessons:demonstrations": Page(MEMBERS),
    "lessons:demonstration_new": Page(TEACHING),
    "lessons:demonstration": Page(MEMBERS, _pk("shown")),
    "lessons:demonstration_edit": Page(TEACHING, _pk("shown")),
    "lessons:demonstration_away": Page(TEACHING, _pk("shown")),
    "lessons:demonstration_kept": Page(EVERYBODY, _pk("shown")),
    "lessons:demonstration_photo": Page(EVERYBODY, _pk("shown", "screen")),
    "lessons:demonstration_sound": Page(EVERYBODY, _pk("shown")),
    "lessons:erase": Page(TEACHERS, _pk("student")),
    "lessons:agree_to_erase": Page(TEACHERS, _pk("student")),
    "lessons:erase_me": Page(EVERYBODY),
    "lessons:ask_erasure": Page(EVERYBODY),
    "lessons:stay": Page(EVERYBODY),
    "lessons:kept": Page(EVERYBODY),
    "lessons:keeping": Page(TEACHERS),
    "lessons:lessons": Page(MEMBERS),
    "lessons:lesson_new": Page(TEACHING),
    "lessons:lesson": Page(OWNER, _pk("lesson")),
    "lessons:lesson_note": Page(OWNER, _pk("lesson")),
    "lessons:lesson_agree": Page(TEACHING, _pk("lesson")),
    "lessons:lesson_edit": Page(TEACHING, _pk("lesson")),
    "lessons:lesson_remove": Page(TEACHING, _pk("lesson")),
    "lessons:work_new": Page(TEACHING),
    "lessons:work": Page(OWNER, _pk("work")),
    "lessons:work_make": Page(ALONE, _pk("work")),
    "lessons:work_reeds": Page(OWNER, _pk("work")),
    "lessons:work_remove": Page(TEACHING, _pk("work")),
    "lessons:calendar": Page(MEMBERS),
    "lessons:calendar_make": Page(MEMBERS),
    "lessons:calendar_take_back": Page(MEMBERS),
    "lessons:export": Page(MEMBERS),
    "lessons:export_state": Page(MEMBERS),
    "lessons:export_file": Page(ALONE, _pk("export")),
    "lessons:export_drop": Page(ALONE, _pk("export")),
    "lessons:letters": Page(EVERYBODY),
    "lessons:letter": Page(FAMILY, _pk("letter")),
    "lessons:letter_write": Page(TEACHERS, lambda world: [world.student.pk, world.term.pk]),
    "lessons:letter_voice": Page(TEACHERS, lambda world: [world.student.pk, world.term.pk]),
    "lessons:letter_drop_voice": Page(TEACHERS, lambda world: [world.student.pk, world.term.pk]),
    "lessons:letter_give": Page(TEACHERS, _pk("letter_draft")),
    "lessons:letter_away": Page(TEACHERS, _pk("letter_draft")),
    "lessons:letter_make": Page(FAMILY, _pk("letter")),
    "lessons:letter_made": Page(FAMILY, _pk("letter")),
    "lessons:letter_pdf": Page(FAMILY, _pk("letter")),
    "lessons:report": Page(TEACHERS, _pk("term")),
    "lessons:report_make": Page(TEACHERS, _pk("term")),
    "lessons:report_made": Page(TEACHERS, _pk("term")),
    "lessons:report_pdf": Page(TEACHERS, _pk("term")),
    "lessons:ask": Page(TEACHING),
    "lessons:comparisons": Page(MEMBERS),
    "lessons:comparison_new": Page(TEACHERS),
    "lessons:comparison": Page(OWNER, _pk("plan")),
    "lessons:comparison_blank": Page(OWNER, _pk("plan")),
    "lessons:comparison_stop": Page(TEACHERS, _pk("plan")),
    "lessons:comparison_take_back": Page(TEACHERS, _pk("plan")),
    "lessons:comparison_put_away": Page(TEACHERS, _pk("plan")),
    "lessons:comparison_not_kept": Page(OWNER, _pk("allotment")),
    "lessons:logs": Page(MEMBERS),
    "lessons:log": Page(OWN_OR_TEACHERS, _pk("log")),
    "lessons:log_choose": Page(OWN_OR_TEACHERS, _pk("log")),
    "lessons:log_bring_in": Page(OWN_OR_TEACHERS, _pk("log")),
    "lessons:log_take_back": Page(OWN_OR_TEACHERS, _pk("log")),
    "lessons:log_drop": Page(OWN_OR_TEACHERS, _pk("log")),
    "lessons:term": Page(FAMILY, _pk("student")),
    "lessons:term_reckoned": Page(FAMILY, _pk("student")),
    "lessons:term_pictures": Page(FAMILY, _pk("student")),
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
        return Page(MEMBERS) if page.who in (OWNER, FAMILY) and self.rest == () else page

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
    """Return which of the cast may open it, a teacher last."""
    teaching = [world.assistant, world.teacher]
    return {
        OPEN: [world.student, world.teacher],
        FILE: [world.student, world.teacher],
        WATCHED: [world.student, world.teacher],
        SIGNED_IN: [world.student, world.teacher],
        EVERYBODY: world.cast,
        MEMBERS: [world.student, world.fellow, *teaching],
        STUDENTS: [world.student, world.fellow],
        TEACHING: teaching,
        TEACHERS: [world.teacher],
        OWNER: [world.student, *teaching],
        FAMILY: [world.student, world.guardian, *teaching],
        OWN_OR_TEACHERS: [world.student, world.teacher],
        GUARDIAN: [world.guardian],
        GUARDIANS: [world.guardian, world.other_guardian],
        ALONE: [world.student],
    }[page.who]
