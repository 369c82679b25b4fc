"""A teacher writes a letter of the term and gives it; its student reads it on a phone and has it as PDF."""

import pytest
from playwright.sync_api import expect

from lessons.letter.models import Letter
from lessons.letter.written import Picture
from lessons.voice.models import Voice
from tests import factories as make
from tests.browser.conftest import DESK
from tests.lessons.letter import make_letter as of


@pytest.fixture
def term(teacher):
    return of.term(teacher.studio)


@pytest.fixture
def photos(student):
    return [of.sent_photo(student, days, speaks) for days, speaks in ((30, 2), (20, 5), (10, 3))]


@pytest.fixture
def writing(desk, sign_in, teacher, student, term, photos):
    """The page on which it is written, reached from the term."""
    page = sign_in(desk, teacher)
    page.goto(f"{teacher.to('lessons:term', student.pk)}?term={term.pk}")
    page.get_by_role("link", name="Write the letter").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"A letter to {student}")
    return page


def choose(page):
    """Tick, change and write, as a teacher does, by the keyboard where that is quicker."""
    page.get_by_label("The term in short: in your own words").first.fill("The low notes come now.")
    page.get_by_label("What was agreed: in your own words").first.fill("A quiet half hour a day.")
    page.get_by_label("Your words").fill("Go on like this.\n\nI look forward to the next ten.")
    page.get_by_label("The next aim").fill("Ten reeds before Easter.")


def test_written_given_and_read(writing, phone, sign_in, teacher, student, photos, axe):
    axe(writing)
    choose(writing)
    writing.keyboard.press("Enter")  # in the field of the next aim
    expect(writing.get_by_role("link", name="The letter as PDF")).to_be_visible()
    expect(writing.get_by_text("does not see it until you give it")).to_be_visible()
    axe(writing)
    writing.get_by_role("button", name="Give it").click()
    expect(writing.get_by_text("Given. It stays as it is")).to_be_visible()
    expect(writing.get_by_role("link", name="Write a new version")).to_be_visible()

    sign_in(phone, student).goto(student.to("lessons:term"))
    phone.get_by_role("link", name="The letter of this term").click()
    letter = phone.locator("article.letter")
    for words in (
        "Three reeds made",
        "The low notes come now.",
        "A quiet half hour a day.",
        "Ten reeds before",
    ):
        expect(letter).to_contain_text(words)
    expect(letter.locator("figure img")).to_have_count(4)  # three reeds and the ruler
    loaded = "all => all.every(one => one.complete && one.naturalWidth > 0)"
    phone.wait_for_function("document.querySelectorAll('article.letter img').length === 4")
    assert letter.locator("img").evaluate_all(loaded)
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    axe(phone)
    answer = phone.request.get(student.to("lessons:letter_pdf", Letter.objects.get().pk))
    pdf = of.read(answer.body())
    assert "I look forward to the next ten." in of.text_of(pdf)
    assert len(of.pictures_of(pdf)) == 3


def test_a_note_is_heard_beside_the_words_and_the_letter_waits_for_it(writing, teacher, axe):
    expect(writing.get_by_role("button", name="Record a note")).to_be_visible()  # the script is there
    field = writing.locator("[data-voice-file]")
    field.set_input_files({"name": "b.wav", "mimeType": "audio/wav", "buffer": make.tone(seconds=1.0)})
    expect(writing.locator("[data-voice] .voice audio")).to_be_visible()
    choose(writing)
    axe(writing)
    writing.get_by_role("button", name="Keep it and look at it").click()
    expect(writing.locator("article.letter")).to_contain_text("I look forward to the next ten.")
    assert Letter.objects.get().voice == Voice.objects.get()
    writing.get_by_role("link", name="Change it").click()
    expect(writing.locator("[data-voice] .voice audio")).to_be_visible()
    writing.get_by_role("button", name="Take the note out").click()
    expect(writing.locator("[data-voice] .voice")).to_have_count(0)
    assert not Voice.objects.exists()


def test_while_a_note_is_recorded_the_letter_is_not_sent(writing):
    choose(writing)
    writing.get_by_role("button", name="Record a note").click()
    expect(writing.locator(".recorder")).to_be_visible()
    writing.get_by_role("button", name="Keep it and look at it").click()
    expect(writing.locator("[data-voice-said]")).to_contain_text("keep the recording first")
    assert not Letter.objects.exists()


def test_what_is_wrong_is_said_and_nothing_typed_is_lost(writing, watch, axe):
    watch.expect(422)
    choose(writing)
    writing.get_by_label("Your words").fill("line\n" * 40)
    writing.get_by_role("button", name="Keep it and look at it").click()
    for place in (writing.get_by_role("link", name="Your words"), writing.locator("#id_words_error")):
        expect(place).to_contain_text("Twenty-four lines at most")
    expect(writing.get_by_label("The next aim")).to_have_value("Ten reeds before Easter.")
    expect(writing.locator("textarea", has_text="The low notes come now.")).to_have_count(1)
    axe(writing)


def test_a_stale_pdf_is_made_anew_by_the_page_itself(open_page, sign_in, teacher, student, term, photos):
    letter = of.given(teacher, student, term)
    Letter.objects.filter(pk=letter.pk).update(pdf="", pdf_of="", pdf_state="")
    page = sign_in(open_page(**DESK), student)
    page.goto(student.to("lessons:letter", letter.pk))
    expect(page.get_by_role("link", name="The letter as PDF")).to_be_visible()


def test_printed_it_is_the_letter_alone(desk, sign_in, teacher, student, term, photos):
    pictures = [Picture(photo.pk, "a reed") for photo in photos]
    letter = of.given(teacher, student, term, pictures=pictures)
    sign_in(desk, student).goto(student.to("lessons:letter", letter.pk))
    desk.emulate_media(media="print")
    for away in (".bar", ".foot", ".letter-beside"):
        for part in desk.locator(away).all():
            expect(part).to_be_hidden()
    width = desk.locator(".letter-ruler").evaluate("ruler => getComputedStyle(ruler).width")
    assert float(width.removesuffix("px")) == pytest.approx(88 / 25.4 * 96, abs=0.1)


def test_the_studios_report_is_read_and_made_as_pdf(phone, sign_in, teacher, student, term, photos, axe):
    page = sign_in(phone, teacher)
    page.goto(f"{teacher.to('lessons:term')}?term={term.pk}")
    page.get_by_role("link", name="The report of this term").click()
    expect(page.locator("article.report")).to_contain_text("3 reeds, sent in 3 rounds")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    axe(page)
    page.get_by_role("button", name="Make the PDF of today's figures").click()
    expect(page.get_by_role("link", name="The report as PDF")).to_be_visible()
    pdf = of.read(page.request.get(teacher.to("lessons:report_pdf", term.pk)).body())
    assert "3 reeds, sent in 3 rounds" in of.text_of(pdf)
    axe(page)
