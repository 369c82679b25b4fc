"""What make test runs: every step, no setting of ours in its way, an end that tells what does not hold."""

import io
import shutil
import signal
import subprocess
import sys

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from studio.management.commands import verify
from studio.management.commands.verify import BROWSERS, OTHER_BROWSERS, PROXY, QUICK, SET_TYPE, WHOLE, Step
from tests.studio.serving import PATIENCE_S, ROOT, is_alive, wait_until

SOUND = (*verify.PLAYERS, "instruments")
OTHERS = (*OTHER_BROWSERS, "records", "letters")
LINE_ELSEWHERE = "webkit2gtk-driver xvfb firefox-esr gstreamer1.0-plugins-bad"
STEPS = [step for lane in WHOLE for step in lane]


@pytest.fixture
def run_side_by_side(monkeypatch):
    """Run the command with these lanes of steps instead of the real ones; return what it says."""
    monkeypatch.setattr(verify.signal, "signal", lambda *_given: None)  # the test run's own stay
    monkeypatch.setattr(verify, "_may_install", lambda: False)
    monkeypatch.setattr(verify, "_has_validator", lambda: True)

    def ran(*lanes):
        monkeypatch.setattr(verify, "WHOLE", lanes)
        said = io.StringIO()
        try:
            call_command("verify", stdout=said)
        except CommandError as error:
            said.write(str(error))
        return said.getvalue()

    return ran


@pytest.fixture
def run(run_side_by_side):
    """Run these steps one after another."""
    return lambda *steps: run_side_by_side(steps)


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


def test_what_is_compiled_is_kept_whatever_the_shell_says(run, monkeypatch):
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    assert "All of it holds." in run(python("one", "import sys; sys.exit(sys.dont_write_bytecode)"))


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


@pytest.mark.parametrize(
    ("there", "asked_for"),
    [
        ([*BROWSERS, *SOUND, *PROXY, *SET_TYPE, *OTHERS], []),
        (["chromium", *SOUND, *PROXY, *SET_TYPE, *OTHERS], ["chromium-headless-shell"]),
        ([*SOUND, *PROXY, *SET_TYPE, *OTHERS], ["chromium-headless-shell", "chromium"]),
        (
            [BROWSERS[0], "fluidsynth", *PROXY, *SET_TYPE, *OTHERS],
            ["fluidsynth fluid-soundfont-gm espeak-ng"],
        ),
        (
            [*BROWSERS, *verify.PLAYERS, *PROXY, *SET_TYPE, *OTHERS],
            ["fluidsynth fluid-soundfont-gm espeak-ng"],
        ),
        ([*BROWSERS, *SOUND, "openssl", *SET_TYPE, *OTHERS], ["nginx-light openssl systemd"]),
        ([*BROWSERS, *SOUND, *PROXY, "pango-1.0", *OTHERS], ["libpango-1.0-0 libpangoft2-1.0-0"]),
        ([*BROWSERS, *SOUND, *PROXY, *SET_TYPE, "Xvfb", "records", "letters"], [LINE_ELSEWHERE]),
        ([*BROWSERS, *SOUND, *PROXY, *SET_TYPE, *OTHER_BROWSERS, "letters"], [LINE_ELSEWHERE]),
        ([*BROWSERS, *SOUND, *PROXY, *SET_TYPE, *OTHER_BROWSERS, "records"], ["fonts-liberation"]),
    ],
)
def test_what_is_missing_is_installed_and_what_is_there_is_not(run, monkeypatch, there, asked_for):
    asked = []
    monkeypatch.setattr(verify, "_may_install", lambda: True)
    monkeypatch.setattr(verify.Command, "_install", lambda _self, *packages: asked.append(" ".join(packages)))
    with monkeypatch.context() as now:
        for module, look in ((verify.shutil, "which"), (verify.ctypes.util, "find_library")):
            now.setattr(module, look, lambda name: name if name in there else None)
        now.setattr(verify, "_can_record", lambda: "records" in there)
        now.setattr(verify, "_has_instruments", lambda: "instruments" in there)
        now.setattr(verify, "_has_letters", lambda: "letters" in there)
        said = run(python("one", ""))
    assert asked == asked_for
    assert ("All of it holds." in said) == bool({*there} & {*BROWSERS})


def test_what_looks_at_html_is_made_from_its_lock_and_without_npm_it_stops(run, monkeypatch, tmp_path):
    place = tmp_path / "valid-html"
    monkeypatch.setattr(verify, "VALIDATOR", place)
    monkeypatch.setattr(verify, "VALIDATES", place / "html-validate")
    monkeypatch.setattr(verify, "_has_validator", lambda: False)
    monkeypatch.setattr(verify, "_has_browser", lambda: True)
    with monkeypatch.context() as now:
        now.setattr(verify.shutil, "which", lambda name: None if name == "npm" else name)
        assert run(python("one", "")).endswith("is there an npm, and its registry?")
    asked = []

    def made(command, _surroundings):
        asked.append(command)
        return verify.Child((sys.executable, "-c", f"open({str(place / 'html-validate')!r}, 'w')"), ROOT)

    monkeypatch.setattr(verify.shutil, "which", lambda name: name)
    with monkeypatch.context() as now:
        now.setattr(verify, "_child", made)
        verify.Command(stdout=io.StringIO())._install_validator()
    assert asked == [("npm", "ci", "--silent", "--no-audit", "--prefix", str(place))]
    assert (place / "package-lock.json").read_bytes() == (verify.MADE_OF / "package-lock.json").read_bytes()


def meets(own, others):
    """Say so when it begins and wait for the other to have done so: alone it waits too long."""
    return (
        f"import pathlib, time; pathlib.Path({str(own)!r}).touch(); until = time.monotonic() + {PATIENCE_S}\n"
        f"while not pathlib.Path({str(others)!r}).exists():\n"
        "    time.sleep(0.02); assert time.monotonic() < until"
    )


def test_lanes_run_at_the_same_time_and_the_steps_of_one_after_another(run_side_by_side, tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    after = f"import pathlib, sys; sys.exit(not pathlib.Path({str(tmp_path / 'done')!r}).exists())"
    late = f"import pathlib, time; time.sleep(0.3); pathlib.Path({str(tmp_path / 'done')!r}).touch()"
    said = run_side_by_side(
        [python("first", meets(one, two))],
        [python("second", meets(two, one)), python("third", late), python("fourth", after)],
    )
    assert said.endswith("All of it holds.\n")


def test_what_a_step_says_stands_whole_under_its_name_whoever_spoke_first(run_side_by_side, tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    slow = f"print('before'); {meets(one, two)}\nprint('after')"
    quick = f"import sys; print('größer', file=sys.stderr); {meets(two, one)}\nsys.exit(3)"
    said = run_side_by_side([python("slow", slow)], [python("quick", quick)])
    parts = [part.splitlines() for part in said.split("\n== ")[1:]]
    assert [lines[:-1] for lines in parts[:1]] == [["slow", "before", "after"]]
    assert parts[0][3].startswith("-- slow: ok, ")
    assert parts[1][:2] == ["quick", "größer"]
    assert parts[1][2].startswith("-- quick: FAILED, ")
    assert said.endswith("Does not hold: quick.")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_every_lane_and_no_step_begins_after_it(number, tmp_path):
    """In a process of its own, whose signals are its own."""
    file = tmp_path / "started"
    step = f"import os, time; open({str(file)!r}, 'a').write(f'{{os.getpid()}} '); time.sleep({PATIENCE_S})"
    text = (
        "import sys, django; django.setup()\n"
        "from django.core.management import call_command, CommandError\n"
        "from studio.management.commands import verify\n"
        f"step = verify.Step('one', (sys.executable, '-c', {step!r}))\n"
        "verify.WHOLE = ((step, step), (step, step)); verify._may_install = lambda: False\n"
        "verify._has_validator = lambda: True\n"
        "try: call_command('verify')\n"
        "except CommandError as error: sys.exit(str(error))"
    )
    command = [sys.executable, "-c", text]
    process = subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE, text=True)  # noqa: S603
    wait_until(lambda: file.exists() and file.read_text().count(" ") == 2, process)
    process.send_signal(number)
    _nothing, error = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 1
    assert error == "Stopped before the end: nothing is shown.\n"
    started = file.read_text().split()
    assert len(started) == 2
    assert not any(is_alive(int(pid)) for pid in started)


def test_the_programs_it_calls_are_there():
    for step in (*STEPS, *(step for lane in QUICK for step in lane)):
        assert shutil.which(step.command[0]), step.name


def test_the_quick_way_asks_for_no_browser_and_runs_its_own_steps(run, monkeypatch):
    monkeypatch.setattr(verify, "_has_browser", lambda: False)
    monkeypatch.setattr(verify, "_may_install", lambda: False)
    monkeypatch.setattr(verify, "QUICK", ((python("quick", "raise SystemExit(1)"),),))
    said = io.StringIO()
    with pytest.raises(CommandError, match=r"Does not hold: quick\."):
        call_command("verify", quick=True, stdout=said)
    assert "== quick" in said.getvalue()


def test_all_that_is_quick_is_part_of_the_whole():
    linters, (tests,) = QUICK
    assert linters
    assert all(step in STEPS for step in linters)
    named = [argument for argument in tests.command if argument.startswith("tests/")]
    assert named
    assert all((verify.settings.BASE_DIR / name).exists() for name in named)


@pytest.mark.parametrize(
    ("of", "asks"), [("tests/studio/test_prepared.py", True), ("tests/test_pure.py", False)]
)
def test_every_test_that_asks_a_database_runs_on_postgresql(of, asks):
    """What would be found is asked of pytest itself."""
    assert verify.SERVICES in STEPS
    words = [of if word == "tests" else word for word in verify.ON_POSTGRESQL]
    found = subprocess.run(  # noqa: S603
        [*verify.PYTEST[:3], "--collect-only", "-q", "-p", "no:cacheprovider", *words],
        cwd=verify.settings.BASE_DIR, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ("::" in found.stdout) is asks, found.stdout


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
