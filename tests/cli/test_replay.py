"""`assistant replay`, in-process: the text, the page, exit codes."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.cli import replay_html
from assistant.cli.main import main
from assistant.config.paths import key_folder
from assistant.journal.keyring import own_public_key, trust_key
from tests.report.sessions_made import checked, finished_session, unfinished_session


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("finished")
    return finished_session(made / "sessions", made / "keys")


@pytest.fixture(autouse=True)
def _their_key_is_trusted(finished: Path, own_home: Path):
    key = own_public_key(finished.parent.parent / "keys")
    trust_key(key_folder(), key, name="the tests", by="the tests")


def test_without_a_page_the_text_is_printed_as_ever(finished: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["replay", str(finished)]) == 1  # there is something to decide
    out = capsys.readouterr().out
    assert "kept outside its window: bolt 2, pass 2, 90 N·m; reason: nut face is damaged, lead agreed" in out
    assert "Pump 2 discharge flange: To be decided: 5 things." in out


def test_a_page_is_written_and_named_and_the_record_is_untouched(
    finished: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    before = {path: path.read_bytes() for path in finished.rglob("*") if path.is_file()}
    page = tmp_path / "page.html"
    assert main(["replay", str(finished), "--html", str(page), "--silent-prompts"]) == 1
    out, err = capsys.readouterr()
    assert out.startswith(f"written: {page} (") and err == ""
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert not (tmp_path / "page-sound").exists()
    assert {path: path.read_bytes() for path in finished.rglob("*") if path.is_file()} == before
    assert checked(finished).good


@pytest.mark.parametrize("option", ["--audio-beside", "--open-audio-beside"])
def test_sound_goes_beside_the_page_on_request(finished: Path, tmp_path: Path, option: str):
    page = tmp_path / "page.html"
    assert main(["replay", str(finished), "--html", str(page), "--silent-prompts", option]) == 1
    beside = sorted((tmp_path / "page-sound").iterdir())
    assert [path.read_bytes() for path in beside] == [p.read_bytes() for p in sorted((finished / "audio").iterdir())]
    assert page.stat().st_size < 300_000


def test_much_sound_goes_beside_the_page_by_itself(finished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(replay_html, "EMBED_BYTES", 1000)
    assert main(["replay", str(finished), "--html", str(tmp_path / "page.html"), "--silent-prompts"]) == 1
    assert len(list((tmp_path / "page-sound").iterdir())) == len(list((finished / "audio").iterdir())) > 100


def test_a_damaged_record_gives_page_and_text_and_exit_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    folder = unfinished_session(tmp_path / "sessions")
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"stud is bent", b"stud is fine"))
    page = tmp_path / "page.html"
    assert main(["replay", str(folder), "--html", str(page), "--silent-prompts"]) == 1
    out, err = capsys.readouterr()
    assert out.startswith("written: ") and "contradicts itself" in err
    assert 'data-verdict="untrusted"' in page.read_text(encoding="utf-8")
    assert main(["replay", str(folder)]) == 1
    assert "Cannot be trusted: " in capsys.readouterr().out


def test_no_session_is_exit_2_and_no_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    (tmp_path / "empty").mkdir()
    assert main(["replay", str(tmp_path / "empty"), "--html", str(tmp_path / "page.html")]) == 2
    assert not (tmp_path / "page.html").exists()
    assert "not a session folder" in capsys.readouterr().err


def test_nothing_is_written_into_a_record(finished: Path, capsys: pytest.CaptureFixture[str]):
    for file in (finished / "page.html", finished / "audio" / "page.html"):
        assert main(["replay", str(finished), "--html", str(file)]) == 2
        assert not file.exists()
    assert "lies in the session folder" in capsys.readouterr().err


def test_a_place_that_takes_no_file_is_exit_2(finished: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["replay", str(finished), "--html", str(tmp_path / "no" / "page.html"), "--silent-prompts"]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_options_of_the_page_need_the_page(finished: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["replay", str(finished), "--audio-beside"]) == 2
    assert "add --html FILE" in capsys.readouterr().err


def test_the_voice_renders_the_prompts_into_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = unfinished_session(tmp_path / "sessions")
    page = tmp_path / "page.html"
    assert main(["replay", str(folder), "--html", str(page)]) == 1  # not finished
    text = page.read_text(encoding="utf-8")
    assert 'id="sound-p1"' in text and "shown, not heard" not in text
    assert list((tmp_path / "cache").rglob("*.wav"))
