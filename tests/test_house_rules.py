"""The rules of the house that no linter knows."""

from __future__ import annotations

import ast
import functools
import json
import re
import subprocess
from pathlib import Path

import pytest
from django.conf import settings

from reeds.numbers.registry import QUANTITIES

ROOT = Path(__file__).parent.parent
TRACKED = [
    ROOT / name
    for name in subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],  # noqa: S607
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    if (ROOT / name).is_file()
]
TOP = {"README.md", "DEVELOPERS.md", "manage.py"}
FOLDERS = {"studio", "reeds", "lessons", "templates", "static", "tests"}
USUAL = {"pyproject.toml", "Makefile", "requirements.txt", "requirements-dev.txt", ".ci"}
USUAL |= {".gitignore", ".dockerignore"}


def of_kind(*endings, below=""):
    return [file for file in TRACKED if file.suffix in endings and name_of(file).startswith(below)]


def name_of(file):
    return file.relative_to(ROOT).as_posix()


PYTHON = [file for file in of_kind(".py") if "/migrations/" not in name_of(file)]
OURS = [file for file in PYTHON if not name_of(file).startswith("tests/")]
VIEWS = [file for file in OURS if "/views" in name_of(file)]
PAGES = [file for file in OURS if re.search(r"/pages(/|\.py$)", name_of(file))]
FORMS = [file for file in OURS if re.search(r"/forms(/|\.py$)", name_of(file))]
TEMPLATES = of_kind(".html", ".svg", ".txt", below="templates/")


@functools.cache
def text_of(file):
    return file.read_text()


@functools.cache
def tree_of(file):
    return ast.parse(text_of(file))


def all_hold(rule, files):
    """Apply the rule, which returns what is wrong with a file, to each; then fail with all that is wrong."""
    files = list(files)
    assert files
    wrong = {name_of(file): found for file in files if (found := rule(file))}
    assert not wrong, "\n" + "\n".join(f"{name}: {found}" for name, found in wrong.items())


def test_there_is_something_to_look_at():
    assert len(PYTHON) > 50
    assert len(VIEWS) > 5
    assert len(PAGES) > 5
    assert len(FORMS) > 5
    assert len(TEMPLATES) > 20


def test_the_top_level_holds_what_it_should_and_nothing_else():
    assert {name_of(file).split("/")[0] for file in TRACKED} <= TOP | FOLDERS | USUAL


def longer_than(lines):
    return lambda file: (many := len(text_of(file).splitlines())) > lines and f"{many} lines"


def test_no_python_file_is_longer_than_400_lines():
    all_hold(longer_than(400), PYTHON)


def too_wide(text):
    """Numbers of the lines over 120 columns."""
    return [number for number, line in enumerate(text.splitlines(), 1) if len(line) > 120]


def test_no_line_of_a_template_is_wider_than_120_columns():
    wide = {name_of(file): lines for file in TEMPLATES if (lines := too_wide(file.read_text()))}
    assert wide == {}


def test_that_rule_counts_columns_and_not_bytes():
    assert too_wide("short\n" + "×" * 120 + "\n" + "x" * 121) == [3]


def test_no_script_is_longer_than_200_lines():
    all_hold(longer_than(200), of_kind(".js", below="static/"))


def says_badly_what_it_is(file):
    said = ast.get_docstring(tree_of(file))
    if not said:
        return "says nothing"
    first = said.splitlines()[0]
    return not first.endswith((".", ":")) and f"no sentence: {first}"


def test_every_module_says_in_a_sentence_what_it_is():
    all_hold(says_badly_what_it_is, [file for file in PYTHON if text_of(file).strip()])


def test_these_rules_name_what_does_not_hold():
    with pytest.raises(AssertionError, match=r"tests/test_house_rules.py: \d+ lines"):
        all_hold(longer_than(10), [Path(__file__)])


# --- who sees what --------------------------------------------------------------------------------


# what narrows rows: the rule, nothing at all, and two rules of their own beside it
NARROWING = {"visible_to", "none", "for_reeds_of", "to_compare"}
# files that take rows otherwise, and why they may
FREELY = {
    "studio/forms.py": "a user name is free or taken on the whole site, before anybody is a member",
    "lessons/erasing/pages.py": "all that is of one member, whom its caller has narrowed",
    "lessons/answering/pages/marked.py": "what was measured on photos that its caller has narrowed",
    "reeds/photo/pages/comparing.py": "what was measured on photos that may be compared",
    "reeds/take/pages/sounding.py": "recordings of the same player, found from one that is narrowed",
}


def objects_used_freely(tree):
    """Every `.objects` that is not at once narrowed to the member who asks."""
    narrowed = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr in NARROWING
    }
    chained = [node for node in ast.walk(tree) if isinstance(node, ast.Attribute) and node.attr == "objects"]
    return [f"line {node.lineno}" for node in chained if id(node) not in narrowed]


def inside_fetch(tree):
    """The same inside a call of fetch(), which narrows what it is given."""
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    fetches = [call for call in calls if isinstance(call.func, ast.Name) and call.func.id == "fetch"]
    return [
        f"line {node.lineno}"
        for call in fetches
        for node in ast.walk(call.args[0])
        if isinstance(node, ast.Attribute) and node.attr == "objects"
    ]


def test_rows_are_taken_only_through_the_rule_of_who_sees_what():
    free = {}
    for file in [*VIEWS, *PAGES, *FORMS]:
        tree = tree_of(file)
        if found := set(objects_used_freely(tree)) - set(inside_fetch(tree)):
            free[name_of(file)] = sorted(found)
    assert set(free) == set(FREELY), free


def test_that_rule_sees_what_it_should():
    free = ast.parse("Reed.objects.filter(pk=1)\nfetch(Reed.objects.select_related('x'), me, 1)")
    assert objects_used_freely(free) == ["line 1", "line 2"]
    assert inside_fetch(free) == ["line 2"]
    assert objects_used_freely(ast.parse("Reed.objects.visible_to(me)")) == []
    assert objects_used_freely(ast.parse("Reed.objects.none()")) == []


# --- who writes what ------------------------------------------------------------------------------

WRITING = {
    "save",
    "create",
    "update",
    "delete",
    "bulk_create",
    "bulk_update",
    "get_or_create",
    "update_or_create",
    "select_for_update",
    "enqueue",
}


def writes(tree):
    """Every call with which rows are written or work is queued."""
    calls = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    return [
        f"line {func.lineno}" for func in calls if isinstance(func, ast.Attribute) and func.attr in WRITING
    ]


def test_a_page_only_reads():
    all_hold(lambda file: writes(tree_of(file)), PAGES)


def test_that_rule_sees_what_writes():
    for writing in (
        "row.save()",
        "Reed.objects.create()",
        "listen.enqueue(1)",
        "rows.filter(x=1).update(y=2)",
    ):
        assert writes(ast.parse(writing)) == ["line 1"], writing
    assert writes(ast.parse("Reed.objects.visible_to(me).first()")) == []


# --- words ----------------------------------------------------------------------------------------

INLINE = re.compile(
    r"<script(?![^>]*\bsrc=)[^>]*>|<style\b|\sstyle\s*=|\son[a-z]+\s*=\s*[\"']|javascript:", re.IGNORECASE
)


def scripts_and_styles(file):
    found = [found.group() for found in INLINE.finditer(text_of(file))]
    # data for a script is no script
    return [one for one in found if "application/json" not in one]


def test_a_template_has_no_script_or_style_of_its_own():
    all_hold(scripts_and_styles, TEMPLATES)


def test_that_pattern_sees_what_it_should():
    for wrong in ("<script>x</script>", "<style>", '<p style="x">', '<p onclick="x">', 'href="javascript:x"'):
        assert INLINE.search(wrong), wrong
    assert not INLINE.search('<script type="module" src="x"></script><p class="style">')


# the policy lets a script set element.style, and forbids every style attribute in markup
STYLED = re.compile(r"""\sstyle\s*=\s*\\?["'`]|setAttribute(?:NS)?\([^)]*["'`]style["'`]|<style\b""")


def styles_in_markup(file):
    return STYLED.findall(text_of(file))


def test_no_script_and_no_view_writes_a_style_into_markup():
    all_hold(styles_in_markup, [*of_kind(".js", below="static/"), *OURS])


def test_that_pattern_sees_a_style_in_markup():
    for wrong in ('"<p style=\\"x\\">"', "`<p style='x'>`", 'mark.setAttribute("style", x)', "f'<style>'"):
        assert STYLED.search(wrong), wrong
    assert not STYLED.search('leaf.style.width = "3px"; Thing(style=style)')


BLOCKS = re.compile(r"{%\s*blocktrans(?:late)?\b.*?{%\s*endblocktrans(?:late)?\s*%}", re.DOTALL)
HIDDEN = re.compile(
    r"{#.*?#}|{%\s*comment\b.*?{%\s*endcomment\s*%}|<!--.*?-->|<kbd>.*?</kbd>"
    r"|{%\s*block main_class\s*%}.*?{%\s*endblock\s*%}",
    re.DOTALL,
)
TEMPLATE_TAGS = re.compile(r"{%.*?%}|{{.*?}}", re.DOTALL)
PAGE_TAGS = re.compile(r"<[^>]*>|&\w+;", re.DOTALL)
SPOKEN = re.compile(r"\s(?:alt|title|placeholder|aria-label|data-say-?\w*)\s*=\s*\"([^\"]*)\"")
WORD = re.compile(r"[^\W\d_]{2,}")
UNITS = {"mm", "cm", "Hz", "cent", "min"}


def untranslated(text):
    """The words of a template that reach the page without passing through gettext."""
    text = HIDDEN.sub("", BLOCKS.sub("", text))
    # a tag of the template may hold a '>' within quotes, so those go before the tags of the page
    text = TEMPLATE_TAGS.sub(" ", text)
    return sorted(set(WORD.findall(" ".join([PAGE_TAGS.sub(" ", text), *SPOKEN.findall(text)]))) - UNITS)


def test_every_word_of_a_template_passes_through_gettext():
    all_hold(lambda file: untranslated(text_of(file)), TEMPLATES)


def test_that_rule_sees_words_too():
    assert untranslated("<p>Bare words</p>") == ["Bare", "words"]
    assert untranslated('<img alt="Bare">') == ["Bare"]
    assert untranslated('<p>{% translate "Good" %} {{ x }} 3 mm</p>{# note #}') == []


def bare_sentences(tree):
    """Sentences handed to people (errors meant for them, messages, labels) as a bare literal."""
    speaking = {"NotPossible", "ValidationError"}
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        is_message = isinstance(node.func, ast.Attribute) and getattr(node.func.value, "id", "") == "messages"
        given = node.args[1:2] if is_message else node.args[:1]
        bare = any(isinstance(one, ast.Constant | ast.JoinedStr) for one in given)
        if bare and (called in speaking or is_message):
            found.append(f"line {node.lineno}")
        if any(keyword.arg == "editable" for keyword in node.keywords):
            continue  # in no form, so its note is for us
        for keyword in node.keywords:
            spoken = keyword.arg in {"label", "help_text", "verbose_name"}
            if spoken and isinstance(keyword.value, ast.Constant) and keyword.value.value:
                found.append(f"line {keyword.value.lineno}")
    return found


def test_every_sentence_for_people_passes_through_gettext():
    all_hold(lambda file: bare_sentences(tree_of(file)), OURS)


def test_that_rule_sees_sentences():
    bad = 'raise NotPossible("x")\nmessages.error(request, "x")\nCharField(label="x")\nNotPossible(_("x"))'
    assert bare_sentences(ast.parse(bad)) == ["line 1", "line 2", "line 3"]


# --- what is written down -------------------------------------------------------------------------

GUIDE = (ROOT / "DEVELOPERS.md").read_text()


def test_the_guide_names_every_setting_and_no_other():
    table = GUIDE.split("## Settings", 1)[1].split("\n## ", 1)[0]
    assert set(re.findall(r"^\| `([A-Z0-9_]+)`", table, re.MULTILINE)) == set(settings.ENVIRONMENT)


def test_the_guide_names_every_command_of_the_makefile():
    targets = set(re.findall(r"^([a-z]+)(?: [a-z]+)*:(?!=)", (ROOT / "Makefile").read_text(), re.MULTILINE))
    for target in targets - {"env", "help"}:
        assert f"`make {target}`" in GUIDE, target


def test_a_table_of_quantities_in_the_readme_is_the_registry():
    readme = (ROOT / "README.md").read_text()
    if "## Quantities" not in readme:
        return
    table = readme.split("## Quantities", 1)[1].split("\n## ", 1)[0]
    assert re.findall(r"^\| `(\w+)`", table, re.MULTILINE) == list(QUANTITIES)


# --- what must not be in a committed file ---------------------------------------------------------

FOREIGN = re.compile(r"(?<![\w}'])/(?:work|home|root|opt|Users)/[\w.-]+|pypi\.\w+|--index-url|--find-links")
HOST = re.compile(r"\bhttps?://([\w.-]+)")
KNOWN_HOSTS = re.compile(
    r"127\.0\.0\.1|localhost|testserver|(?:[\w-]+\.)*example(?:\.\w+)?|www\.w3\.org|json-schema\.org|www\.gnu\.org"
)
NO_TEXT = {".mo", ".png", ".jpg", ".webp", ".heic", ".m4a", ".wav", ".webm"}
TEXT = [file for file in TRACKED if file.suffix not in NO_TEXT]


def foreign(file):
    hosts = HOST.findall(text_of(file).replace("\\.", "."))
    return FOREIGN.findall(text_of(file)) + [host for host in hosts if not KNOWN_HOSTS.fullmatch(host)]


def test_no_file_names_a_machine_or_a_registry():
    all_hold(foreign, [file for file in TEXT if file != Path(__file__)])


@pytest.mark.parametrize("lock", ["requirements.txt", "requirements-dev.txt"])
def test_a_lock_has_a_hash_for_everything_and_an_address_for_nothing(lock):
    text = (ROOT / lock).read_text()
    assert "://" not in text
    pins = re.findall(
        r"^[\w.-]+(?:\[[\w,-]+\])?==[^\n]*(?:\n    --hash=sha256:[0-9a-f]{64}[^\n]*)+", text, re.MULTILINE
    )
    assert len(pins) == len(re.findall(r"^\w", text, re.MULTILINE)) > 20


def test_the_lock_of_what_looks_at_html_too():
    text = (ROOT / "tests/html/package-lock.json").read_text()
    assert "://" not in text
    packages = {name: one for name, one in json.loads(text)["packages"].items() if name}
    assert len(packages) > 20
    assert [name for name, one in packages.items() if not one["integrity"].startswith("sha512-")] == []
