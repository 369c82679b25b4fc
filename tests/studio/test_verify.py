"""What make test runs: every step, no setting of ours in its way, an end that tells what does not hold."""

import io
import shutil
import sys

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from studio.management.commands import verify
from studio.management.commands.verify import QUICK, STEPS, Step


@pytest.fixture
def run(monkeypatch):
    """Run the command with these steps instead of the real ones; return what it says."""
    monkeypatch.setattr(verify.signal, "signal", lambda *_given: None)  # the test run's own stay

    def ran(*steps):
        monkeypatch.setattr(verify, "STEPS", steps)
        said = io.StringIO()
        try:
            call_command("verify", stdout=said)
        except CommandError as error:
            said.write(str(error))
        return said.getvalue()

    return ran


def python(name, text, **surroundings):
    return Step(name, (sys.executable, "-c", text), surroundings)


def test_all_steps_run_and_what_does_not_hold_is_named(run, tmp_path):
    marks = [tmp_path / "first", tmp_path / "second", tmp_path / "third"]
    write = "import pathlib, sys; pathlib.Path({!r}).touch(); sys.exit({})"
    steps = [
        python(file.name, write.format(str(file), code)) for file, code in zip(marks, (0, 3, 0), strict=True)
    ]
    said = run(*steps)
    assert all(file.exists() for file in marks)
    assert said.endswith("Does not hold: second.")


def test_when_all_holds_it_says_so(run):
    assert run(python("one", "")).rstrip().endswith("All of it holds.")


def test_no_setting_of_the_one_who_calls_gets_in_the_way(run, monkeypatch):
    monkeypatch.setenv("PRODUCTION", "1")
    monkeypatch.setenv("DATABASE_URL", "postgres://elsewhere/db")
    text = "import os, sys; sys.exit('PRODUCTION' in os.environ or os.environ.get('DATABASE_URL') != 'x')"
    assert "All of it holds." in run(python("one", text, DATABASE_URL="x"))


def test_data_goes_to_a_folder_that_is_gone_afterwards(run, tmp_path):
    note = tmp_path / "note"
    text = f"import os, pathlib; pathlib.Path({str(note)!r}).write_text(os.environ['DATA_DIR'])"
    run(python("one", text))
    assert not verify.Path(note.read_text()).exists()


def test_without_a_browser_and_no_right_to_install_one_it_stops_with_a_sentence(run, monkeypatch):
    monkeypatch.setattr(verify, "_has_browser", lambda: False)
    monkeypatch.setattr(verify, "_may_install", lambda: False)
    assert (
        run(python("one", "")) == "The browser tests need a Chromium: install the package 'chromium' first."
    )


def test_the_programs_it_calls_are_there():
    for step in (*STEPS, *QUICK):
        assert shutil.which(step.command[0]), step.name


def test_the_quick_way_asks_for_no_browser_and_runs_its_own_steps(run, monkeypatch):
    monkeypatch.setattr(verify, "_has_browser", lambda: False)
    monkeypatch.setattr(verify, "_may_install", lambda: False)
    monkeypatch.setattr(verify, "QUICK", (python("quick", "raise SystemExit(1)"),))
    said = io.StringIO()
    with pytest.raises(CommandError, match=r"Does not hold: quick\."):
        call_command("verify", quick=True, stdout=said)
    assert "== quick" in said.getvalue()


def test_all_that_is_quick_is_part_of_the_whole():
    *linters, tests = QUICK
    assert all(step in STEPS for step in linters)
    named = [argument for argument in tests.command if argument.startswith("tests/")]
    assert named
    assert all((verify.settings.BASE_DIR / name).exists() for name in named)


def test_templates_are_looked_at_and_an_untidy_one_is_found(run, tmp_path):
    step = next(step for step in STEPS if step.name == "templates")
    command = [part for part in step.command if not part.endswith(".html")]
    assert len(step.command) - len(command) > 100
    untidy = tmp_path / "untidy.html"
    untidy.write_text("{%translate 'x'%}\n")
    assert run(Step("templates", (*command, str(untidy)))).endswith("Does not hold: templates.")


def test_browser_tests_are_a_step_of_their_own_and_the_others_are_not_left_out():
    commands = [" ".join(step.command) for step in STEPS]
    assert any(command.endswith("tests/browser") for command in commands)
    assert any("tests --ignore=tests/browser" in command for command in commands)
