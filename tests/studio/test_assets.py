"""Static files under hashed names: imports between our modules too; a library's script is not changed."""

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


def test_imports_between_our_modules_name_hashed_files_however_deep_they_lie(hashed):
    names, texts = hashed(
        {
            "js/page.js": 'import { one } from "./part/one.js";\nimport * as two from "./two.js";\n',
            "js/part/one.js": 'import { two } from "../two.js";\nexport const one = two;\n',
            "js/two.js": "export const two = 2;\n",
        }
    )
    assert f'"./{names["js/part/one.js"].removeprefix("js/")}"' in texts["js/page.js"]
    assert f'"./{names["js/two.js"].removeprefix("js/")}"' in texts["js/page.js"]
    assert f'"../{names["js/two.js"].removeprefix("js/")}"' in texts["js/part/one.js"]


def test_a_librarys_script_gets_a_hashed_name_and_keeps_what_it_holds(hashed):
    names, texts = hashed({"library/known.js": LIBRARY})
    assert names["library/known.js"] != "library/known.js"
    assert texts["library/known.js"] == LIBRARY


def test_an_import_of_ours_that_leads_nowhere_is_an_error(hashed):
    with pytest.raises(ValueError, match=r"gone\.js"):
        hashed({"js/page.js": 'import { gone } from "./gone.js";\n'})
