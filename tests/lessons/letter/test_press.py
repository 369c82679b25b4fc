"""The press: a page becomes a tagged PDF in a child that reaches nothing but what it was given."""

import pytest

from lessons.letter import press
from lessons.letter.press import BASE, PressFailed, PressMissing, Sheet, only_these, pressed
from tests import factories as make
from tests.lessons.letter.make_letter import pictures_of, read, text_of

PAGE = "<html lang='de'><head><title>Ein Brief</title></head><body>{}</body></html>"
FOREIGN = [
    "http://127.0.0.1:9/a.jpg",
    "https://example.org/a.jpg",
    "file:///etc/passwd",
    "data:image/svg+xml,<svg/>",
    "pictures/2.jpg",
    "../pictures/1.jpg.other",
]


@pytest.fixture(scope="module")
def pdf():
    body = "<h1>Grüße</h1><p>Words.</p><img src='pictures/1.jpg' alt='a reed'>"
    style = "@page { size: A4 } img { width: 88mm; height: 22mm }"
    done = pressed(Sheet(PAGE.format(body), (style,), {"pictures/1.jpg": make.picture(1232, 308)}))
    return read(done.pdf)


def test_it_is_tagged_and_says_its_language_and_title(pdf):
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "de"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value
    assert pdf.metadata.title == "Ein Brief"
    assert b"pdfuaid" in root["/Metadata"].get_data()


def test_it_holds_the_words_the_picture_and_its_fonts(pdf):
    assert "Grüße Words." in text_of(pdf)
    ((width, height),) = pictures_of(pdf)
    assert (width, height) == (pytest.approx(88, abs=0.05), pytest.approx(22, abs=0.05))
    fonts = [font.get_object() for font in pdf.pages[0]["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        described = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile2", "/FontFile3"} & set(described)


def test_the_picture_is_told_to_who_does_not_see_it(pdf):
    def alternatives(node):
        node = node.get_object()
        if isinstance(node, dict):
            yield from ([node["/Alt"]] if "/Alt" in node else [])
            kids = node.get("/K", [])
            for kid in kids if isinstance(kids, list) else [kids]:
                yield from alternatives(kid) if not isinstance(kid, int) else []

    assert list(alternatives(pdf.trailer["/Root"]["/StructTreeRoot"])) == ["a reed"]


@pytest.mark.parametrize("address", FOREIGN)
def test_whatever_was_not_given_along_is_refused(address):
    fetch = only_these({"pictures/1.jpg": make.picture()}).fetch
    assert fetch(f"{BASE}pictures/1.jpg").content_type == "image/jpeg"
    for url in (address, BASE + address):
        with pytest.raises(ValueError, match="not given along"):
            fetch(url)


def test_a_page_that_asks_for_more_is_pressed_without_it():
    body = "".join(f"<img src='{one}' alt='nothing'>" for one in FOREIGN)
    links = "".join(f"<link rel='stylesheet' href='{one}'>" for one in FOREIGN)
    done = pressed(Sheet(PAGE.format(f"{links}<p>Words.</p>{body}"), ("@import 'file:///etc/passwd';",)))
    pdf = read(done.pdf)
    assert pictures_of(pdf) == []
    assert "root:" not in text_of(pdf)
    assert "Words." in text_of(pdf)


def test_pages_are_counted():
    body = "<p style='break-after: page'>one</p>" * 3 + "<p>four</p>"
    assert pressed(Sheet(PAGE.format(body))).pages == 4


# --- a child that does not do its work ------------------------------------------------------------


@pytest.fixture
def instead(tmp_path, monkeypatch):
    """Return a function that puts a module in WeasyPrint's place, for children only."""

    def put(code):
        (tmp_path / "weasyprint.py").write_text(code)
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))

    return put


def test_without_pango_that_is_what_is_said(instead):
    instead("raise OSError('cannot load library libpango')")
    with pytest.raises(PressMissing, match="libpango"):
        pressed(Sheet(PAGE))


def test_a_press_that_hangs_is_ended(instead):
    instead("import time; time.sleep(60)")
    with pytest.raises(PressFailed, match=r"not done after 0\.5 s"):
        pressed(Sheet(PAGE), longest_s=0.5)


def test_a_press_that_breaks_says_so(instead):
    instead("raise RuntimeError('broken')")
    with pytest.raises(PressFailed, match="broken"):
        pressed(Sheet(PAGE))


def test_it_is_given_no_setting_of_ours(instead, monkeypatch):
    monkeypatch.setenv("SECRET_KEY", "hush")
    instead("import os; raise RuntimeError(sorted(os.environ))")
    with pytest.raises(PressFailed) as failed:
        pressed(Sheet(PAGE), hidden=["SECRET_KEY"])
    assert "SECRET_KEY" not in str(failed.value)
    assert "PATH" in str(failed.value)


def test_its_time_on_a_processor_is_limited():
    assert 0 < press.CPU_S < press.LONGEST_S
