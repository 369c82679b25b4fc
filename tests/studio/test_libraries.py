"""What runs with us: each library's licence is known and goes with ours, and the bill lists them all."""

import io
import json
import os
import re
import subprocess
import sys
import tomllib
from email.message import Message

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from django.core.management import CommandError, call_command
from packaging.markers import Marker

from studio import libraries
from studio.libraries import Library, bill, is_compatible, locked
from studio.management.commands import libraries as command
from tests.studio.serving import ROOT, environment

LOCK = (ROOT / "requirements.txt").read_text()


def test_every_library_of_the_lock_is_found():
    pins = re.findall(r"^([\w.-]+).*==", LOCK, re.MULTILINE)
    assert [library.name for library in locked(LOCK)] == pins
    assert len(pins) > 30
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["dependencies"]
    names = {re.match(r"[\w-]+", one).group() for one in wanted}
    assert names <= set(pins)


def test_a_line_of_the_lock_is_read_with_its_condition():
    text = (
        "a-b[c]==1.2 ; python_full_version < '3.12' \\\n    --hash=sha256:0\nd==3 \\\n    --hash=sha256:1\n"
    )
    assert locked(text) == [Library("a-b", "1.2", "python_full_version < '3.12'"), Library("d", "3")]


def test_each_has_a_licence_that_goes_with_ours():
    said = io.StringIO()
    call_command("libraries", stdout=said)
    lines = said.getvalue().splitlines()
    assert len(lines) == len(locked(LOCK))
    assert any(re.fullmatch(r"django 5\.2\.\d+: BSD-3-Clause", line) for line in lines)
    assert "not known" not in said.getvalue()


@pytest.mark.parametrize(
    ("licence", "may"),
    [
        ("MIT", True),
        ("MPL-1.1", False),
        ("", False),
        ("GPL-2.0-only", False),
        ("Proprietary", False),
        ("MIT AND GPL-2.0-only", False),
        ("MPL-1.1 OR MIT", True),
        ("MIT AND (MPL-1.1 OR Zlib)", True),
        ("(MIT OR MPL-1.1) AND MPL-1.1", False),
        ("MIT OR MPL-1.1 AND Zlib", True),
        ("GNU General Public License v3 or later (GPLv3+)", True),
    ],
)
def test_which_licences_go_with_ours(licence, may):
    assert is_compatible(licence) == may


def told(**fields):
    message = Message()
    for name, values in fields.items():
        for value in values if isinstance(values, list) else [values]:
            message[name.replace("_", "-")] = value
    return message


BSD, SECRET = "License :: OSI Approved :: BSD License", "License :: Other/Proprietary License"


@pytest.mark.parametrize(
    ("said", "licence"),
    [
        (told(License_Expression="MIT", Classifier=BSD), "MIT"),
        (told(License="anything", Classifier=BSD), "BSD License"),
        (told(License="MIT"), "MIT"),
        (told(License="MIT", Classifier=[BSD, SECRET]), ""),  # which of them, nobody knows
        (told(License="A long text of a licence " * 9), ""),
        (told(), ""),
    ],
)
def test_what_a_library_says_of_itself(monkeypatch, said, licence):
    monkeypatch.setattr(libraries, "metadata", lambda _name: said)
    assert Library("any", "1").licence == licence


def test_one_that_is_not_known_or_may_not_be_fails_by_name(monkeypatch, settings, tmp_path):
    (tmp_path / "requirements.txt").write_text("no-such-library==1 \\\n    --hash=sha256:0\ndjango==5.2 \\\n")
    monkeypatch.setattr(command.settings, "BASE_DIR", tmp_path)
    with pytest.raises(CommandError, match=r"compatible with GPL-3.0-or-later: no-such-library\.$"):
        call_command("libraries", stdout=io.StringIO())


def test_nothing_is_declared_that_no_lock_names():
    assert set(libraries.DECLARED) <= {library.name for library in locked(LOCK)}


# --- the bill ---
@pytest.fixture
def written(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    call_command("libraries", bill=True, stdout=io.StringIO())
    return (tmp_path / "sbom.json").read_text()


def test_the_bill_has_what_cyclonedx_asks_for(written):
    """The required fields and patterns of the published schema, CycloneDX 1.6."""
    said = json.loads(written)
    assert (said["bomFormat"], said["specVersion"], said["version"]) == ("CycloneDX", "1.6", 1)
    pattern = r"urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
    assert re.fullmatch(pattern, said["serialNumber"])
    ours = said["metadata"]["component"]
    assert (ours["type"], ours["name"]) == ("application", "reed-studio")
    components = said["components"]
    assert len({one["bom-ref"] for one in components}) == len(components)
    for one in components:
        assert (one["type"], one["purl"]) == ("library", f"pkg:pypi/{one['name']}@{one['version']}")
        (licence,) = one["licenses"]
        assert set(licence) == {"expression"} or set(licence["license"]) == {"name"}


def test_the_bill_is_as_the_published_schema_says(written):
    """CycloneDX's own JSON schema of that version, in its strict form, as its Python library carries it."""
    schema = JsonStrictValidator(SchemaVersion.V1_6)
    assert schema.validate_str(written) is None
    wrong = json.loads(written)
    wrong["components"][0]["licenses"] = [{"license": {"id": "No-Such-Licence"}}]
    assert schema.validate_str(json.dumps(wrong)) is not None


def test_make_lists_and_writes_by_the_command(tmp_path, written):
    """The two targets as they stand in the Makefile, in this environment instead of one made for them."""
    venv = tmp_path / "venv"
    (venv / "bin").mkdir(parents=True)
    (venv / "bin" / "python").symlink_to(sys.executable)
    (venv / "requirements.txt").write_text(LOCK)  # as if made from it: nothing is installed
    paths = {"PYTHONPATH": os.pathsep.join(sys.path)}
    for target, said in (("licences", "django 5.2"), ("sbom", "Written: ")):
        command = ["make", "--no-print-directory", target, f"VENV={venv}"]
        ran = subprocess.run(  # noqa: S603
            command, cwd=ROOT, env=environment(tmp_path) | paths, capture_output=True, text=True
        )
        assert ran.returncode == 0, ran.stderr
        assert said in ran.stdout
    assert (tmp_path / "sbom.json").read_text() == written


def test_the_bill_lists_what_is_installed_here_each_in_one_version(written):
    listed = [(one["name"], one["version"]) for one in json.loads(written)["components"]]
    here = [one for one in locked(LOCK) if not one.marker or Marker(one.marker).evaluate()]
    assert listed == [(one.name, one.version) for one in here]
    assert len(dict(listed)) == len(listed) > 30


def test_the_bill_names_no_address_and_is_the_same_for_the_same_lock(written):
    assert "://" not in written
    assert str(ROOT) not in written
    assert bill(LOCK, "1") == bill(LOCK, "1")
    assert bill(LOCK, "1")["serialNumber"] != bill(LOCK + "\n", "1")["serialNumber"]
