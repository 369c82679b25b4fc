"""The command that measures one take from the shell."""

import io
import json

import numpy as np
import pytest
from django.core.management import call_command

from tests.pseudo import bracketed
from tests.simulate_sound import Room, Sung, as_file, hertz, plain, record, wav


@pytest.fixture
def low_notes(tmp_path):
    """D4, C4 and Bb3 played, 10 cents above A = 442; what a phone would save."""
    rng = np.random.default_rng(4)
    played = [
        plain(name, 442 * 2 ** (10 / 1200), start=0.5 + 1.3 * i) for i, name in enumerate(("D4", "C4", "Bb3"))
    ]
    path = tmp_path / "take.m4a"
    path.write_bytes(as_file(record(played, 4.5, Room(), rng), "aac", "mp4", 48000).read())
    return path


def measured(path, *words):
    out = io.StringIO()
    call_command("measure_take", str(path), *words, stdout=out)
    return json.loads(out.getvalue())


def refused(path, *words):
    """Return the one sentence on standard error; nothing goes to standard output, and the status is 2."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("measure_take", str(path), *words, stdout=out, stderr=err)
    assert (ended.value.code, out.getvalue()) == (2, "")
    assert len(err.getvalue().splitlines()) == 1
    return err.getvalue()


def test_the_command_gives_one_entry_for_each_expected_note(low_notes):
    told = measured(low_notes, "--a4", "442", "--item", "low_notes", "--expect", "D4,C#4,C4,A#3")
    assert [note["name"] for note in told["notes"]] == ["D4", "C#4", "C4", "Bb3"]
    assert [note["sounded"] for note in told["notes"]] == [True, False, True, True]
    assert told["notes"][1]["heard"] is None
    assert told["item"] == {"asked": 4, "spoke": 3}
    for note in (told["notes"][0], told["notes"][2], told["notes"][3]):
        assert note["cents"] == pytest.approx(10, abs=0.5)


def test_the_command_without_an_item_tells_notes_only(low_notes):
    told = measured(low_notes)
    assert told["item"] is None
    assert [note["name"] for note in told["notes"]] == ["D4", "C4", "Bb3"]
    assert told["a4_hz"] == 440
    assert told["notes"][0]["cents"] == pytest.approx(1200 * np.log2(442 / 440) + 10, abs=0.5)


def test_a_wrong_note_in_place_of_an_expected_one_is_named(tmp_path):
    rng = np.random.default_rng(5)
    path = tmp_path / "take.m4a"
    played = [plain("D5"), plain("C4", start=2.0)]
    assert hertz("D5") / hertz("D4") == pytest.approx(2)
    path.write_bytes(as_file(record(played, 3.5, Room(), rng), "aac", "mp4", 48000).read())
    told = measured(path, "--expect", "D4,C4")
    assert [note["sounded"] for note in told["notes"]] == [False, True]
    assert told["notes"][0]["heard"] == "D5"


@pytest.mark.parametrize("words", [("--expect", "H4"), ("--a4", "300"), ("--a4", "460")])
def test_the_command_says_in_one_sentence_what_it_cannot_take(low_notes, words):
    assert refused(low_notes, *words).count(".") == 1


@pytest.mark.parametrize("words", [("--a4", "high"), ("--item", "scale")])
def test_the_command_says_in_one_line_what_it_cannot_read(low_notes, words, capsys):
    with pytest.raises(SystemExit) as ended:
        call_command("measure_take", str(low_notes), *words)
    said = capsys.readouterr()
    assert (ended.value.code, said.out, len(said.err.splitlines())) == (2, "", 1)


def test_the_command_says_when_there_is_no_file(tmp_path):
    assert "no such file" in refused(tmp_path / "none.wav")


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("empty.m4a", b"", "empty"),
        ("words.wav", b"these are only words, " * 50, "cannot be read"),
        ("brief.wav", wav(Sung(np.zeros(4800), 48000, [])).getvalue(), "too short"),
        ("endless.wav", wav(Sung(np.zeros(8000 * 1200), 8000, [])).getvalue(), "longer than 3 minutes"),
    ],
)
def test_the_command_ends_with_2_and_a_sentence_for_what_is_no_take(tmp_path, name, content, word):
    (tmp_path / name).write_bytes(content)
    said = refused(tmp_path / name)
    assert word in said
    assert said.count(".") == 1


def test_every_figure_of_a_note_has_its_doubt_beside_it(low_notes):
    figures = ("cents", "steadiness_cents", "drift_cents_per_s", "response_ms", "level_db")
    for note in measured(low_notes, "--a4", "442")["notes"]:
        for name in figures:
            assert note[f"{name}_standard_uncertainty"] > 0, name


def test_a_refusal_is_said_in_the_language_asked_for_else_in_the_shells(tmp_path, monkeypatch):
    path = tmp_path / "none.wav"
    path.write_bytes(b"nothing")
    monkeypatch.setenv("LC_ALL", "")
    monkeypatch.setenv("LC_MESSAGES", "C.UTF-8")
    monkeypatch.setenv("LANG", "de_DE.UTF-8")
    with bracketed():
        asked = refused(path, "--language", "de")
        english = refused(path)
        monkeypatch.delenv("LC_MESSAGES")
        assert refused(path) == asked
        assert refused(path, "--language", "en") == english
    assert asked.strip().startswith("⟦")
    assert "⟦" not in english
    assert english.strip() in asked
