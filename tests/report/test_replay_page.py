"""The lead's page as text: what it says, what it may not do, and that no record breaks it. See also tests/browser."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.cli.replay_html import joint_of, read_story, shapes_of
from assistant.journal.disk import read_regular
from assistant.journal.reading import Entry, read_session
from assistant.report.page_json import script_json
from assistant.report.page_sound import Sounds, collect
from assistant.report.printable import LONGEST, printable
from assistant.report.replay_page import replay_page
from tests.replay.telling import story_of, told, trusting
from tests.report.sessions_made import HOSTILE, finished_session, hostile_session, unfinished_session


class Page(HTMLParser):
    """Elements of a page: (name, attributes) in order, and the text of each script by its id."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[tuple[dict[str, str | None], str]] = []
        self.words: list[str] = []
        self._open: str = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        self._open = tag
        if tag in ("script", "style"):
            self.scripts.append((dict(attrs), ""))

    def handle_endtag(self, tag: str) -> None:
        self._open = ""

    def handle_data(self, data: str) -> None:
        if self._open in ("script", "style"):
            self.scripts[-1] = (self.scripts[-1][0], self.scripts[-1][1] + data)
        else:
            self.words.append(data)

    def data(self, name: str) -> object:
        return json.loads(next(text for attributes, text in self.scripts if attributes.get("id") == name))

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def page_of(folder: Path, **more: object) -> str:
    story, sources, found = read_story(folder, basis=trusting(folder))
    sounds = collect(story.moments, lambda name: read_regular(folder / "audio" / f"{name}.flac"))
    joint = joint_of(folder, found)
    shapes = shapes_of(joint) if joint else {}
    return replay_page(story, sounds, report=sources.report, joint=joint, shapes=shapes, session=folder.name, **more)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("finished")
    return finished_session(made / "sessions", made / "keys")


@pytest.fixture(scope="module")
def text(folder: Path) -> str:
    return page_of(folder)


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


def test_the_head_answers_what_who_when_and_whether_it_is_done(page: Page):
    for words in (
        "Pump 2 discharge flange",
        "To be decided",
        "5 things. “dry” was said at thread condition; said to be put right: “the paste is on all threads now”.",
        "Bolt 2 was kept at 90 N·m, outside its window: flange bolts, pass 2 at 102 N·m. Reason given: “nut face",
        "4 h of 24 h were not waited.",
        "NS-P2-F03",
        "North Sluice, lower gallery, pump bay 2",
        "wrench 14, dial, serial NS-TW-0014, calibration holds until 2036-12-31",
        "lead (releases the lock-out, signs the record)",
        "all as recorded, sealed with key",
        "25 Nov 2026 10:15 to 26 Nov 2026",
        "two listeners (constrained, vosk)",
        "released by “Sam Reed”",
        "Names are written as they were heard and are often misheard: hear them.",
        "cut short after 20 h, 4 h left; reason given: “the line is wanted back tonight”",
        "38 deg C, measured by “Toni Vale” (as heard)",
    ):
        assert words in page.text, words


def test_readings_stand_in_figures_by_bolt_and_pass(page: Page):
    assert "90 kept" in page.text and "172, held" in page.text
    assert "accepted 97.19 to 107.4 N·m" in page.text


def test_every_link_within_the_page_leads_somewhere(page: Page):
    index = page.data("index")
    assert isinstance(index, dict)
    anchors = {
        f"u-{number:04d}" if named == "u" else f"e-{number}"
        for named, number in zip(index["named"], index["id"], strict=True)
    }
    ids = {attributes.get("id") for _, attributes in page.elements}
    links = [attributes["href"] or "" for name, attributes in page.elements if name == "a" and "href" in attributes]
    assert len(links) > 60
    for link in links:
        assert link.startswith("#") and (link[1:] in ids or link[1:] in anchors), link
    heard = [attributes["data-play"] for _, attributes in page.elements if "data-play" in attributes]
    assert heard and set(heard) <= anchors


def test_only_its_own_style_and_script_may_run_and_nothing_may_be_fetched(text: str, page: Page):
    policy = next(a["content"] or "" for n, a in page.elements if n == "meta" and a.get("http-equiv"))
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'" and rules["media-src"] == "blob:"
    assert rules["form-action"] == rules["base-uri"] == "'none'"
    running = [t for a, t in page.scripts if a.get("type") is None]
    hashes = [base64.b64encode(hashlib.sha256(t.encode()).digest()).decode() for t in running]
    assert [rules["style-src"], rules["script-src"]] == [f"'sha256-{each}'" for each in hashes]
    assert not re.search(r"(?:src|href|action|data|poster)\s*=\s*[\"']?\s*(?:https?:|//|data:|javascript:)", text)
    assert not any(key.startswith("on") or key == "style" for _, a in page.elements for key in a)
    assert not re.search(r"@import|url\(", next(t for a, t in page.scripts if a == {}))


def test_each_recording_is_in_the_page_byte_for_byte(folder: Path, page: Page):
    kept = {a["id"]: t for a, t in page.scripts if a.get("type") == "text/plain"}
    files = sorted((folder / "audio").glob("*.flac"))
    assert len(kept) == len(files) > 100
    for file in files:
        assert base64.b64decode(kept[f"sound-{file.stem}"]) == file.read_bytes()


def test_the_scripts_data_hold_every_moment(folder: Path, page: Page):
    index = page.data("index")
    assert isinstance(index, dict)
    count = len(story_of(folder).moments)
    assert all(len(index[key]) == count for key in ("t", "who", "id", "named", "mark", "bolt", "stage", "sound", "no"))
    pieces = [page.data(f"piece-{n}") for n in range(-(-count // index["piece"]))]
    assert sum(len(piece) for piece in pieces if isinstance(piece, list)) == count


def test_language_headings_and_landmarks_are_there(page: Page):
    names = [name for name, _ in page.elements]
    assert ("html", {"lang": "en"}) in page.elements
    assert names.count("h1") == 1 and all(names.count(each) == 1 for each in ("header", "main", "footer"))
    for name, attributes in page.elements:
        if name == "button":
            assert attributes.get("type") == "button"


def test_sound_beside_the_page_is_named_and_allowed(folder: Path):
    page = Page(page_of(folder, beside="pump 2-sound"))
    index = page.data("index")
    assert isinstance(index, dict) and index["beside"] == "pump%202-sound"
    assert "in the folder pump 2-sound" in page.text
    policy = next(a["content"] or "" for n, a in page.elements if n == "meta" and a.get("http-equiv"))
    assert "media-src blob: file: 'self'" in policy and "http" not in policy


def test_an_unfinished_session_says_so_first(tmp_path: Path):
    page = Page(page_of(unfinished_session(tmp_path)))
    assert "Not finished" in page.text and "not sealed" in page.text
    assert "Next is bolt 2 of Pass 2, 102 N·m." in page.text
    assert "not passed" in page.text


def test_markup_in_the_record_stays_text(tmp_path: Path):
    text = page_of(hostile_session(tmp_path))
    page = Page(text)
    assert not any(name in ("img", "iframe", "object", "embed", "link") for name, _ in page.elements)
    assert len([a for a, _ in page.scripts if a.get("type") is None]) == 2  # the style and the one script
    assert "alert(1)" in page.text and "49" not in page.text  # shown, and not taken for a template
    assert "\u202e" not in text and "\u2028" not in text
    assert "letters more" in page.text  # a note of many thousand letters is cut, and says so
    assert json.dumps(page.data("piece-0")).count("alert(1)") > 5


@pytest.mark.parametrize("damage", ["cut", "edited", "reordered", "foreign", "gone"])
def test_a_broken_record_still_opens_and_says_what_is_wrong(tmp_path: Path, damage: str):
    folder = unfinished_session(tmp_path)
    journal = folder / "journal.jsonl"
    raw = journal.read_bytes()
    lines = raw.split(b"\n")
    if damage == "cut":
        journal.write_bytes(raw[: len(raw) * 3 // 5])
    elif damage == "edited":
        at = next(n for n, line in enumerate(lines) if b'"kind":"reading-accepted"' in line)
        lines[at] = lines[at].replace(b'"52"', b'"53"')
        journal.write_bytes(b"\n".join(lines))
    elif damage == "reordered":
        lines[10], lines[20] = lines[20], lines[10]
        journal.write_bytes(b"\n".join(lines))
    elif damage == "foreign":
        journal.write_bytes(b'{"not": "ours"}\n' * 3)
    else:
        journal.unlink()
    page = Page(page_of(folder))
    said = {
        "cut": "that were never finished",
        "edited": "1 line cannot be read: left out here.",
        "reordered": "lines are missing, added or moved",
        "foreign": "3 lines cannot be read",
        "gone": "There is no journal",
    }[damage]
    assert said in page.text
    assert "Cannot be trusted" in page.text
    assert "NOT as recorded" in page.text


def test_missing_damaged_and_exchanged_sound_is_said_and_marked(tmp_path: Path):
    folder = unfinished_session(tmp_path)
    audio = folder / "audio"
    (audio / "0002.flac").unlink()
    (audio / "0003.flac").write_bytes((audio / "0003.flac").read_bytes()[:200])
    (audio / "0005.flac").write_bytes((audio / "0006.flac").read_bytes())
    page = Page(page_of(folder))
    for words in ("1 recording missing.", "1 recording cannot be decoded.", "1 recording on disk: not the sound"):
        assert words in page.text
    index = page.data("index")
    assert isinstance(index, dict)
    signs = {number: index["sound"][place] for place, number in enumerate(index["id"]) if index["named"][place] == "u"}
    assert [signs[n] for n in (1, 2, 3, 5)] == ["k", "m", "d", "c"]


def test_a_joint_file_that_was_changed_is_not_believed(tmp_path: Path):
    folder = unfinished_session(tmp_path)
    joint = folder / "joint.toml"
    joint.write_bytes(joint.read_bytes().replace(b"NS-TW-0014", b"NS-TW-9999"))
    page = Page(page_of(folder))
    assert "NS-TW-9999" not in page.text and "NS-TW-0014" not in page.text
    assert "missing, changed, or not understood" in page.text and "changed afterwards" in page.text


@given(st.data())
def test_no_record_breaks_the_page(folder: Path, data: st.DataObject):
    entries: tuple[Entry, ...] = read_session(folder).entries
    kept = data.draw(st.lists(st.sampled_from(entries), max_size=40))
    page = Page(replay_page(told(kept), Sounds()))
    index = page.data("index")
    assert isinstance(index, dict) and len(index["who"]) == len(told(kept).moments)


@given(st.text())
def test_text_of_a_record_is_shown_or_replaced_sign_by_sign(text: str):
    shown = printable(text)
    assert not any(unicodedata.category(sign)[0] == "C" for sign in shown)
    assert printable(shown) == shown
    assert all(a == b or b == "\N{REPLACEMENT CHARACTER}" for a, b in zip(text, shown, strict=True))
    shown.encode("utf-8")


def test_a_text_that_is_too_long_is_cut_and_says_so():
    assert printable("a" * (LONGEST + 5)).endswith("… (5 letters more)")


@given(
    st.recursive(
        st.text() | st.integers() | st.none(), lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner)
    )
)
def test_data_for_scripts_comes_back_equal_and_holds_no_markup(value: object):
    written = script_json(value)
    assert not set("<>&\u2028\u2029") & set(written) and written.isascii()
    assert json.loads(written) == value


def test_the_hostile_text_is_hostile():
    assert html.escape(HOSTILE) != HOSTILE
