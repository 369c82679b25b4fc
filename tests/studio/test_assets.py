"""Static files under hashed names: ours with what they import; a library's script is not changed."""

import pytest

from studio.assets import HashedStaticFiles

LIBRARY = """
/** @type {import("./typings")} as the library writes its types, in a file that is not shipped */
// import { nothing } from "./neither_is_this.js";
export const known = true;
"""


@pytest.fixture
def hashed(tmp_path):
    """Return a function that hashes files given by name and text; it gives name and text of each after."""
    storage = HashedStaticFiles(location=tmp_path, base_url="/static/")

    def run(files):
        for name, text in files.items():
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / name).write_text(text)
        for _name, _hashed, done in storage.post_process({name: (storage, name) for name in files}):
            if isinstance(done, Exception):
                raise done
        names = {name: storage.hashed_files[storage.hash_key(name)] for name in files}
        return names, {name: (tmp_path / to).read_text() for name, to in names.items()}

    return run


def test_what_is_for_later_is_a_hashed_file_named_as_seen_from_the_page(hashed):
    names, texts = hashed(
        {
            "js/page.js": 'import { one } from "./part/one.js";\none();\n',
            "js/part/one.js": 'export const one = () => import("../two.js");\n',
            "js/two.js": 'import { three } from "./three.js";\nexport const two = three;\n',
            "js/three.js": "export const three = 3;\n",
        }
    )
    later = names["js/two.js"].removeprefix("js/")
    assert f'import("./{later}")' in texts["js/page.js"]
    assert f'import("../{later}")' in texts["js/part/one.js"]
    assert "export const { two } =" in texts["js/two.js"]


def test_a_page_is_another_file_as_soon_as_anything_is_that_it_holds(hashed):
    page = 'import "./one.js";\n'
    before, _texts = hashed({"js/page.js": page, "js/one.js": "export const one = 1;\n"})
    after, _texts = hashed({"js/page.js": page, "js/one.js": "export const one = 2;\n"})
    assert before["js/page.js"] != after["js/page.js"]


def test_a_sheet_holds_those_it_imports_in_their_place(hashed):
    _names, texts = hashed(
        {
            "css/page.css": '/* a page */\n@import "one.css";\n@import "two.css";\n.c {}\n',
            "css/one.css": ".a {}\n",
            "css/two.css": '@import "one.css";\n.b {}\n',
        }
    )
    assert texts["css/page.css"] == "/* a page */\n.a {}\n.a {}\n.b {}\n.c {}\n"


def test_a_librarys_script_gets_a_hashed_name_and_keeps_what_it_holds(hashed):
    names, texts = hashed({"library/known.js": LIBRARY})
    assert names["library/known.js"] != "library/known.js"
    assert texts["library/known.js"] == LIBRARY


def test_an_import_of_ours_that_leads_nowhere_is_an_error(hashed):
    with pytest.raises(ValueError, match=r"gone\.js"):
        hashed({"js/page.js": 'import { gone } from "./gone.js";\n'})
