"""Every page in a bracketed language, as everybody: what stands outside the brackets went past gettext."""

import re
import zoneinfo

import pytest
from django.test import Client
from django.utils.translation import npgettext, pgettext

from lessons.letter.models import Letter
from studio.models import Person
from tests.pseudo import bracketed, hyphens_for_minus, numbers_for_machines, untranslated
from tests.world import KNOWN, World, may_open

pytestmark = pytest.mark.django_db

# what people of that studio wrote, and so stays as it is in any language
WRITTEN = (
    *("Person to come", "Autumn", "An even opening", "Both corners close together", "angle of the corners"),
    *("Angle of the corners", "Go on", "Rest it", "a bag", "a note", "it scoops up here", "three blanks"),
    *("A Guardian", "wanted@example.org", "reeds.csv"),
)
# languages by their own names, and what is written the same in both
ALIKE = ("English", "Deutsch", "UTC", "mm", "mm²", "Hz", "min", "CSV", "XLSX")
# what stood over columns of the list that was brought in
HEADINGS = {"reed", "made on", "tie length"}
NUMBERED = re.compile(r"\b(?:Person|Studio|Pattern|person)\s?\d+\b")
KNOWN_WORDS = re.compile("|".join(rf"(?<!\w){re.escape(one)}(?!\w)" for one in (*WRITTEN, *ALIKE)))
ZONES = {zone.replace("_", " ") for zone in zoneinfo.available_timezones()}
WORD = re.compile(r"[^\W\d_]{2,}")


def rest_of(text):
    """Return what of a text is neither translated nor known to be written by somebody."""
    without = KNOWN_WORDS.sub(" ", NUMBERED.sub(" ", text.replace("(Europe/Berlin)", "")))
    return "" if text in ZONES | HEADINGS or not WORD.search(without) else text


def readers(address, world):
    """Return one member of each role that may open it; an assistant's pages are the teacher's."""
    found = {member.role: member for member in may_open(address.page, world)}
    if "teacher" in found:
        found.pop("assistant", None)
    return list(found.values())


@pytest.fixture
def pages():
    """Every page there is, in German, as each role: its address and its text."""
    world = World()
    Person.objects.update(language="de")
    Letter.objects.update(language="de")
    clients = {member.pk: Client() for member in world.cast}
    for member in world.cast:
        clients[member.pk].force_login(member.person)

    def gather():
        for address in KNOWN:
            path = address.of(world)
            asking = [clients[member.pk] for member in readers(address, world)] if address.in_studio else []
            for client in asking or [Client(headers={"Accept-Language": "de"})]:
                answer = client.get(path)
                if answer.streaming:
                    list(answer.streaming_content)
                elif answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
                    yield address.name, answer.content.decode()

    return gather


def test_no_text_goes_past_gettext_no_number_for_a_script_has_a_comma_none_for_eyes_a_hyphen(pages):
    holes, commas, hyphens, seen = {}, {}, {}, set()
    with bracketed():
        for name, html in pages():
            seen.add(name)
            for text in filter(None, map(rest_of, untranslated(html))):
                holes.setdefault(text, set()).add(name)
            for text in numbers_for_machines(html):
                commas.setdefault(text, set()).add(name)
            for text in hyphens_for_minus(html):
                hyphens.setdefault(text, set()).add(name)
    assert (holes, commas, hyphens) == ({}, {}, {})
    assert len(seen) > 80


def test_a_word_past_gettext_is_seen_wherever_it_stands():
    page = '<p>⟦Kept⟧ so</p><img alt="a reed"><b>⟦one <i>two</i>⟧</b><i data-said="It is kept" data-key="a">'
    assert untranslated(page) == ["so", "a reed", "It is kept"]
    assert [rest_of(text) for text in ("Person 3 made it", "Person 3 · 4 mm", "Africa/Lagos")] == [
        "Person 3 made it",
        "",
        "",
    ]


def test_a_comma_in_a_number_for_a_script_is_seen_and_one_for_people_is_not():
    page = '<rect x="1,5"><input value="2,5"><polyline points="1.5,2 3,4"><i data-at="0,5"></i>1,5'
    assert numbers_for_machines(page) == ['x="1,5"', 'data-at="0,5"']


def test_a_hyphen_before_a_number_that_people_read_is_seen():
    page = '<b>-14 ct (-0.5) −2</b><input value="-1"><i data-by="-1"></i>2-3, A-4 <i aria-label="by -7 mm">'
    assert hyphens_for_minus(page) == ["-14", "-0.5", "-7"]


def test_a_sentence_of_a_context_is_bracketed_as_any_other():
    with bracketed():
        assert pgettext("music", "note") == "⟦note⟧"
        assert npgettext("music", "note", "notes", 2) == "⟦notes⟧"
