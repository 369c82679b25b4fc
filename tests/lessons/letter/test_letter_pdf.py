"""A letter as PDF: what stands in it, how large its reeds are, that it is of the letter as it stands."""

from dataclasses import dataclass
from pathlib import Path

import pytest
from django.utils import timezone

from lessons.letter import actions, tasks
from lessons.letter.models import Letter
from lessons.letter.press import Pressed, PressFailed, PressMissing
from lessons.letter.sheet import LetterOnPaper
from lessons.letter.written import Picture
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.reed.actions import take_out
from studio.errors import NotPossible
from studio.models import Member, Term
from tests import factories as make
from tests.lessons.letter import make_letter as of

pytestmark = pytest.mark.django_db
SENTENCES = [
    "Six of the last ten were tied 0.5 to 1 mm long, on every staple: an offset, or the hand?",
    "Even within 0.6 mm now, 1.4 mm in September.",
    "Leaks: three in September, none since.",
]
WHOLE = {
    "sentences": SENTENCES,
    "comes_back": ["corners: open, on 5 of 9 reeds sent"],
    "agreed": ["3 November: tie two a day apart."],
    "words": "First paragraph.\n\nSecond, für Ж.",
    "next_aim": "Ten reeds before Easter.",
}
FULL = {  # all that the form lets through, in letters of usual width
    "sentences": [("reed " * 60)[:200]] * 3,
    "comes_back": [("cane " * 60)[:200]] * 4,
    "agreed": [("cork " * 60)[:200]] * 4,
    "words": "\n".join(["scrape the heart with a light hand, and listen"] * 24),
    "next_aim": ("thread " * 60)[:200],
}


@dataclass(frozen=True)
class Standing:
    """A letter that was given and pressed: of whom, about what."""

    teacher: Member
    student: Member
    term: Term
    photos: list[Photo]
    letter: Letter


def stand():
    teacher = make.teacher()
    student = make.student(studio=teacher.studio)
    term = of.term(teacher.studio)
    photos = [of.sent_photo(student, days) for days in (30, 20, 10)]
    letter = of.given(teacher, student, term, pictures=pictures(photos), **WHOLE)
    return Standing(teacher, student, term, photos, pressed(letter))


@pytest.fixture(scope="module")
def once_stood(once):
    return once(stand)


@pytest.fixture
def standing(once_stood, anew):
    """A letter costs most of a second to press: one for all of the tests."""
    return anew(once_stood)


@pytest.fixture
def teacher(standing):
    return standing.teacher


@pytest.fixture
def student(standing):
    return standing.student


@pytest.fixture
def term(standing):
    return standing.term


@pytest.fixture
def photos(standing):
    return standing.photos


def pictures(photos):
    return [Picture(photo.pk, f"Reed of photo {photo.pk}") for photo in photos]


def pressed(letter):
    tasks.press_letter.call(letter.pk)
    letter.refresh_from_db()
    return letter


def pdf_of(letter):
    return of.read(Path(pressed(letter).pdf.path).read_bytes())


@pytest.fixture
def letter(standing):
    return standing.letter


def test_all_of_it_stands_there_on_one_page(letter, student, teacher, photos):
    pdf = pdf_of(letter)
    assert (len(pdf.pages), letter.pdf_pages, letter.pdf_state) == (1, 1, "ready")
    text = of.text_of(pdf)
    words = [*SENTENCES, *WHOLE["comes_back"], *WHOLE["agreed"], WHOLE["next_aim"]]
    for line in [*words, "First paragraph.", "Second, für", str(student), str(teacher.studio), str(teacher)]:
        assert line in text
    fonts = [font.get_object() for font in pdf.pages[0]["/Resources"]["/Font"].values()]
    assert any(b"<0416>" in font["/ToUnicode"].get_data() for font in fonts)  # Ж can be searched for
    assert str(letter.given_at.astimezone(student.studio.zone).year) in text


def test_it_is_tagged_with_language_and_title(letter, student):
    pdf = pdf_of(letter)
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert pdf.metadata.title == f"{student}, Autumn"
    width, height = (float(side) / of.MM for side in pdf.pages[0].mediabox[2:])
    assert (width, height) == (pytest.approx(210, abs=0.2), pytest.approx(297, abs=0.2))


def test_its_reeds_are_of_their_true_size(letter, photos):
    """The cut is 14 pixels a millimetre (reeds/photo/vision/flatten.py): 1232 by 308 are 88 by 22 mm."""
    pdf = pdf_of(letter)
    drawn = of.pictures_of(pdf)
    stored = [image.image.size for image in pdf.pages[0].images]
    assert len(drawn) == 3
    assert set(stored) == {(1232, 308)}
    for width, height in drawn:
        assert width == pytest.approx(1232 / 14, abs=0.2)
        assert height == pytest.approx(308 / 14, abs=0.2)


def test_as_full_as_can_be_it_is_two_pages(teacher, student, term, photos):
    letter = of.kept(student, term, pictures=pictures(photos), **FULL)
    assert (len(pdf_of(letter).pages), letter.pdf_refusal) == (2, "")


def test_what_is_too_long_in_this_machines_letters_is_set_smaller(student, term, monkeypatch):
    tried = []

    def pages(sheet, **_given):
        tried.append(sheet.styles)
        return Pressed(b"%PDF", 4 - len(tried))

    monkeypatch.setattr(tasks, "pressed", pages)
    assert pressed(of.kept(student, term)).pdf_pages == 2
    (usual, smaller) = tried
    assert smaller[:-1] == usual
    assert "font-size: 9.5pt" in smaller[-1]


@pytest.mark.parametrize("letter_of_them", ["W", "木", "x" * 200 + " "])
def test_what_is_wider_is_two_pages_or_says_so_to_the_teacher(
    as_member, teacher, student, term, photos, letter_of_them
):
    def much(n):
        return (letter_of_them * n)[:n]

    wide = {kind: [much(200)] * most for kind, most in (("sentences", 3), ("comes_back", 4), ("agreed", 4))}
    wide |= {"words": much(1800), "next_aim": much(200)}
    letter = pressed(of.kept(student, term, pictures=pictures(photos), **wide))
    if letter.pdf_pages > 2:
        assert not letter.pdf
        page = as_member(teacher).get(teacher.to("lessons:letter", letter.pk)).content.decode()
        assert "It fills more than two pages: shorten your words" in page
        with pytest.raises(NotPossible, match="more than two pages"):
            actions.give(letter, teacher)
    else:
        actions.give(letter, teacher)


def test_markup_is_words_like_others(student, term):
    letter = of.kept(student, term, words="<img src='file:///etc/passwd'> & <b>bold</b>", next_aim="a < b")
    text = of.text_of(pdf_of(letter))
    assert "<img src='file:///etc/passwd'> & <b>bold</b>" in text
    assert "a < b" in text


def test_of_another_students_photo_nothing_is_drawn(student, other_student, term, photos):
    letter = of.kept(student, term)
    theirs = of.sent_photo(other_student, 5)
    letter.pictures.create(studio=letter.studio, photo=theirs, place=1, caption="Somebody else's")
    pdf = pdf_of(letter)
    assert of.pictures_of(pdf) == []
    assert "Somebody else's" not in of.text_of(pdf)
    assert list(LetterOnPaper(letter).sheet().pictures) == ["pictures/millimetres.svg", "pictures/reed.svg"]


def test_a_photo_not_laid_flat_yet_is_laid_flat_first(student, term, photos):
    of_it = PhotoMeasuring.objects.filter(photo=photos[0])
    of_it.update(flat_of=None)
    letter = of.kept(student, term, pictures=pictures(photos))
    assert len(LetterOnPaper(letter).unlaid) == 1
    assert len(of.pictures_of(pdf_of(letter))) == 3
    assert of_it.get().is_flat


# --- always of the letter as it stands ------------------------------------------------------------


def test_twice_is_the_same_as_once(letter):
    first = pressed(letter).pdf.name
    assert pressed(letter).pdf.name == first


def test_what_changed_is_pressed_anew_and_the_old_file_goes(student, term, photos):
    letter = pressed(of.kept(student, term, pictures=pictures(photos)))
    old = Path(letter.pdf.path)
    pressed(of.kept(student, term, words="Other words."))
    letter.refresh_from_db()
    assert "Other words." in of.text_of(of.read(Path(letter.pdf.path).read_bytes()))
    assert not old.exists()


def served(client, member, letter):
    answer = client.get(member.to("lessons:letter_pdf", letter.pk))
    return b"".join(answer.streaming_content) if answer.streaming else answer.status_code


def test_the_student_is_served_the_file(as_member, student, other_student, letter):
    client = as_member(student)
    data = served(client, student, pressed(letter))
    assert data.startswith(b"%PDF-1.7")
    answer = client.get(student.to("lessons:letter_pdf", letter.pk))
    list(answer.streaming_content)
    assert answer["Content-Type"] == "application/pdf"
    assert "autumn.pdf" in answer["Content-Disposition"]
    assert served(as_member(other_student), other_student, letter) == 404


def test_a_pdf_that_shows_what_was_taken_out_since_is_served_no_more(as_member, student, photos, letter):
    client = as_member(student)
    pressed(letter)
    take_out(photos[0].reed)
    assert served(client, student, letter) == 302  # to the page, which has it made anew
    page = client.get(student.to("lessons:letter", letter.pk)).content.decode()
    assert student.to("lessons:letter_make", letter.pk) in page
    pdf = of.read(served(client, student, pressed(letter)))
    assert len(of.pictures_of(pdf)) == 2
    assert "1 photo that was chosen is not shown any more." in of.text_of(pdf)


def test_without_consent_the_old_file_is_gone_from_the_disk_once_it_is_made_anew(student, letter):
    old = Path(pressed(letter).pdf.path)
    student.under_age = True
    student.save()
    assert of.pictures_of(pdf_of(letter)) == []
    assert not old.exists()


def test_a_file_that_is_lost_leads_back_to_the_page(as_member, student, letter):
    Path(pressed(letter).pdf.path).unlink()
    assert served(as_member(student), student, letter) == 302


# --- how far it is --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "said"),
    [(PressMissing("x"), "This server cannot make PDFs"), (PressFailed("x"), "The PDF could not be made.")],
)
def test_why_there_is_none_is_said_to_whoever_asks(
    as_member, student, photos, letter, monkeypatch, error, said
):
    old = Path(pressed(letter).pdf.path)

    def fail(*_given, **_named):
        raise error

    monkeypatch.setattr(tasks, "pressed", fail)
    take_out(photos[0].reed)
    letter = pressed(letter)
    assert (letter.pdf_state, letter.pdf.name, old.exists()) == ("failed", "", False)
    assert said in as_member(student).get(student.to("lessons:letter", letter.pk)).content.decode()


def test_it_is_asked_for_and_appears(as_member, student, letter, django_capture_on_commit_callbacks):
    Letter.objects.filter(pk=letter.pk).update(pdf="", pdf_of="", pdf_state="")
    client = as_member(student)
    htmx = {"HX-Request": "true"}
    make_it, made = (student.to(f"lessons:letter_{name}", letter.pk) for name in ("make", "made"))
    part = client.post(make_it, headers=htmx).content.decode()
    assert "The PDF is being made" in part
    assert f"{made}?tries=2" in part
    part = client.get(made, {"tries": "24"}, headers=htmx).content.decode()
    assert "This takes longer than usual" in part
    assert "hx-get" not in part  # it stops asking
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(make_it).status_code == 302
    part = client.get(made, {"tries": "3"}, headers=htmx).content.decode()
    assert student.to("lessons:letter_pdf", letter.pk) in part
    assert "A4, 1 page; print it at 100 %." in part


def test_a_draft_thrown_away_while_it_is_made_leaves_no_file(student, term, settings, monkeypatch):
    before = list(Path(settings.MEDIA_ROOT).rglob("*.pdf"))
    letter = of.kept(student, term)
    press = tasks.pressed

    def meanwhile(*given, **named):
        Letter.objects.all().delete()
        return press(*given, **named)

    monkeypatch.setattr(tasks, "pressed", meanwhile)
    tasks.press_letter.call(letter.pk)
    tasks.press_letter.call(letter.pk)
    assert set(Path(settings.MEDIA_ROOT).rglob("*.pdf")) <= set(before)


def test_it_is_on_the_studios_clock(student, term):
    student.studio.time_zone = "Pacific/Auckland"
    student.studio.save()
    letter = of.kept(student, term)
    at = timezone.datetime(2026, 11, 30, 20, tzinfo=timezone.get_fixed_timezone(0))
    Letter.objects.filter(pk=letter.pk).update(given_at=at)
    assert "1 December 2026" in LetterOnPaper(Letter.objects.get(pk=letter.pk)).html


def test_its_ruler_stands_where_the_cut_has_its_millimetres():
    from reeds.photo.vision.flatten import WINDOW

    ruler = (Path(__file__).parents[3] / "static/pictures/millimetres.svg").read_text()
    assert f'viewBox="0 0 {WINDOW.right - WINDOW.left:g} 5"' in ruler
    for mm in range(81):
        assert f'd="M{mm - WINDOW.left:g} 0V' in ruler
    assert '<text x="4" y="4.7">0</text>' in ruler


def test_a_photo_without_a_file_is_no_picture(student, term, photos):
    letter = of.kept(student, term, pictures=pictures(photos))
    Path(PhotoMeasuring.objects.get(photo=photos[0]).flat.path).unlink()
    assert pressed(letter).pdf_refusal == tasks.NOT_MADE


def test_a_colleague_reads_the_draft_and_a_stranger_nothing(as_member, teacher, student, stranger, term):
    letter = pressed(of.kept(student, term))
    colleague = make.teacher(studio=teacher.studio)
    assert served(as_member(colleague), colleague, letter).startswith(b"%PDF")
    assert served(as_member(student), student, letter) == 404
    assert served(as_member(stranger), stranger, letter) == 404
