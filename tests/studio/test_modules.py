"""A page asks at once for all modules that its scripts import, each once, under the names it gets them by."""

import re

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.template import Context, Template

from studio import modules


@pytest.fixture
def scripts(tmp_path, monkeypatch):
    """Return a function that lays scripts, given by name and text, among the static files."""
    monkeypatch.setattr(
        finders, "find", lambda name: str(file) if (file := tmp_path / name).exists() else None
    )
    for cached in (modules._imports, modules.imported_by):
        cached.cache_clear()

    def laid(files):
        for name, text in files.items():
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / name).write_text(text)

    yield laid
    for cached in (modules._imports, modules.imported_by):
        cached.cache_clear()


def test_what_is_imported_however_deep_is_named_once_the_nearest_first(scripts):
    scripts(
        {
            "js/page.js": 'import { one } from "./part/one.js";\nimport "./two.js";\nimport("./later.js");\n',
            "js/part/one.js": 'import {\n  two,\n} from "../two.js";\nimport "./three.js";\n',
            "js/two.js": 'import { one } from "./part/one.js";  // in a circle\nconst from = "./no.js";\n',
            "js/part/three.js": "export const three = 3;\n",
        }
    )
    assert modules.imported_by("js/page.js") == ("js/part/one.js", "js/two.js", "js/part/three.js")
    assert modules.imported_by("js/page.js", "js/two.js") == ("js/part/one.js", "js/part/three.js")


def test_one_that_is_not_there_is_an_error(scripts):
    scripts({"js/page.js": 'import "./gone.js";\n'})
    with pytest.raises(ValueError, match=r"js/gone\.js"):
        modules.imported_by("js/page.js")


def test_a_page_asks_for_all_of_them_ahead_and_runs_only_what_it_names():
    said = Template("{% modules 'js/send/page.js' 'js/sign_out.js' %}").render(Context())
    ahead = re.findall(r'<link rel="modulepreload" href="/static/(.+?)">', said)
    run = re.findall(r'<script type="module" src="/static/(.+?)"></script>', said)
    assert run == ["js/send/page.js", "js/sign_out.js"]
    assert "js/send/outbox.js" in ahead
    assert len(ahead) == len(set(ahead)) > 8
    assert not set(ahead) & set(run)


def test_no_script_of_ours_imports_one_that_is_not_there():
    folder = settings.BASE_DIR / "static"
    names = [file.relative_to(folder).as_posix() for file in (folder / "js").rglob("*.js")]
    assert len(modules.imported_by(*names)) == 0
