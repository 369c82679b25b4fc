"""The examples for containers, which no test can run: what they name is there, and fits together."""

import re
import shutil
import subprocess
import sys

import pytest
import yaml
from django.conf import settings
from django.core.management import get_commands, load_command_class

from tests.studio.serving import ROOT, environment

FOLDER = ROOT / "studio" / "deploy"
CONTAINERFILE = (FOLDER / "Containerfile").read_text()
GIT = shutil.which("git") or "git"
GIVEN = {"SECRET_KEY": "0123456789abcdefghijklmnopqrstuvwxyz" * 2, "EMAIL_URL": "smtp://mail:25"}


@pytest.fixture(scope="module")
def services():
    return yaml.safe_load((FOLDER / "compose.yaml").read_text())["services"]


def of_ours(services):
    return {name: one for name, one in services.items() if one["image"] == "reed-studio"}


def test_both_say_at_once_that_nobody_ran_them():
    for text in (CONTAINERFILE, (FOLDER / "compose.yaml").read_text()):
        assert "NOT RUN" in "".join(text.splitlines()[:3])


def test_there_are_web_worker_database_storage_and_proxy(services):
    assert set(services) == {"web", "worker", "database", "storage", "proxy"}
    assert set(of_ours(services)) == {"web", "worker"}


def test_an_image_is_named_without_a_registry(services):
    images = [one["image"] for one in services.values()] + re.findall(r"^ARG BASE=(\S+)", CONTAINERFILE, re.M)
    assert len(images) == 6
    assert [image for image in images if "." in image.split("/")[0] and "/" in image] == []


def test_it_copies_what_is_run_and_nothing_that_is_not_there():
    copied = [words.split()[:-1] for words in re.findall(r"^COPY (.+)$", CONTAINERFILE, re.M)]
    names = {name for words in copied for name in words}
    assert names == {"requirements.txt", "manage.py", "studio", "reeds", "lessons", "templates", "static"}
    assert all((ROOT / name).exists() for name in names)


def test_no_key_and_no_data_comes_into_the_image_or_into_git():
    """Its first lines have people lay certificates and passwords beside it."""
    left_out = (ROOT / ".dockerignore").read_text().splitlines()
    assert left_out.index("*") < left_out.index("!studio") < left_out.index("studio/deploy")
    assert not any(line.startswith("!") for line in left_out[left_out.index("studio/deploy") :])
    for path in ("studio/deploy/.env", "studio/deploy/certificate/privkey.pem"):
        said = subprocess.run([GIT, "check-ignore", "-q", path], cwd=ROOT, check=False)  # noqa: S603  # our own words
        assert said.returncode == 0, path


def test_its_commands_are_ours(services):
    said = [one["command"] for one in of_ours(services).values()]
    said.append([word.strip('"') for word in re.search(r"^CMD \[(.+)\]", CONTAINERFILE, re.M)[1].split(", ")])
    for python, file, name, *options in said:
        assert (python, file) == ("python", "manage.py")
        parser = load_command_class(get_commands()[name], name).create_parser(file, name)
        assert parser.parse_args(options)


def test_its_settings_are_ours_and_do_not_contradict_each_other(services, tmp_path):
    for one in of_ours(services).values():
        assert set(one["environment"]) <= set(settings.ENVIRONMENT)
    asked = {
        name: re.sub(r"\$\{\w+:\?\}", "given-by-hand", value) for name, value in one["environment"].items()
    }
    said = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT,
        env=environment(tmp_path, **asked | GIVEN, DJANGO_ALLOW_ASYNC_UNSAFE=""),
        capture_output=True,
        text=True,
        check=False,
    )
    assert said.returncode == 0, said.stderr


def test_its_parts_find_each_other(services):
    named = of_ours(services)["web"]["environment"]
    assert "@database:5432/" in named["DATABASE_URL"]
    assert named["S3_ENDPOINT"] == "http://storage.example:8333"
    assert "-s3.port=8333" in services["storage"]["command"]
    assert services["storage"]["networks"]["default"]["aliases"] == ["storage.example"]
    assert "server_name reeds.example.org" in (FOLDER / "nginx.conf").read_text()
    assert (
        f"server_name {named['S3_BROWSER_ENDPOINT'].removeprefix('https://')};"
        in (FOLDER / "nginx-files.conf").read_text()
    )
    mounted = [words.split(":")[0] for words in services["proxy"]["volumes"]]
    assert [name for name in mounted if name.endswith(".conf") and not (FOLDER / name).is_file()] == []
