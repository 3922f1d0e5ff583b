"""The lead's page for everybody: accessibility rules (axe-core), greyscale, and a session with very many moments."""

from __future__ import annotations

import io
from datetime import datetime, timedelta, timezone
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.events import NotUnderstood, SessionOpened, UtteranceHeard
from assistant.journal.reading import Entry
from assistant.report.bolt_map import STATE_WORDS
from assistant.report.page_sound import Sounds
from assistant.report.replay_page import replay_page
from tests.browser.conftest import write
from tests.replay.telling import told
from tests.replay.worked import DEMOS, Worked

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.mark.parametrize(("name", "width"), [("finished", 390), ("foreign", 1280)])
def test_no_accessibility_rule_is_broken(visit: Any, name: str, width: int):
    axe = pytest.importorskip("axe_playwright_python.base", reason="axe-core is not installed: scripts/setup --dev")
    opened = visit(name, width=width, link="#u-0017")
    opened.js(axe.AXE_SCRIPT)
    found = opened.js("rules => axe.run(document, rules)", RULES)
    broken = [(each["id"], [node["html"][:160] for node in each["nodes"]][:4]) for each in found["violations"]]
    assert broken == []
    assert len(found["passes"]) > 25


STOPS = """() => [...document.querySelectorAll("a[href], button, input, select, summary, [tabindex]")]
  .filter(each => each.tabIndex >= 0 && !each.disabled && each.checkVisibility()).length"""


def test_the_keyboard_passes_few_stops_and_arrows_move_among_the_rest(visit: Any, tmp_path: Path):
    worked = Worked(tmp_path / "s", DEMOS / "north-sluice-cooler-girth-flange.toml", sound=True)
    opened = visit(write(worked.finish().close(), tmp_path / "page.html"))
    assert opened.page.locator("#bolts svg a, #bolts svg g").count() >= 24
    assert opened.js(STOPS) < 60
    opened.page.locator("#holds .holds").focus()
    opened.page.keyboard.press("ArrowDown")
    assert opened.js("document.activeElement.matches('#holds a') && document.activeElement.tabIndex") == -1


def test_every_state_of_a_bolt_is_told_from_every_other_in_greyscale(visit: Any):
    from PIL import Image

    opened = visit("finished")
    assert opened.page.locator("#bolts .legend:not(.marks) li").all_inner_texts() == list(STATE_WORDS.values())
    marks = opened.page.locator("#bolts .legend.marks svg").count()
    pictures = []
    for glyph in opened.page.locator("#bolts .legend svg").all():  # the states, and the marks beside a bolt
        shot = Image.open(io.BytesIO(glyph.screenshot())).convert("L").resize((26, 26))
        pictures.append(np.asarray(shot, dtype=float))
    assert marks == 2 and len(pictures) == len(STATE_WORDS) + marks
    for one, two in combinations(range(len(pictures)), 2):
        assert np.abs(pictures[one] - pictures[two]).mean() > 12, (one, two)


@pytest.fixture(scope="module")
def long_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """20 000 utterances in which nothing was understood."""
    start = datetime(2026, 11, 25, 6, 0, tzinfo=timezone.utc)
    opened = SessionOpened(
        joint="Long shift", joint_sha256="", plan_sha256="", product="", listeners=("constrained",), speaker=""
    )
    events: list[Any] = [opened]
    for n in range(1, 20_001):
        name = f"{n:04d}"
        events += [
            UtteranceHeard(
                utterance=name,
                start_sample=n * 16_000,
                end_sample=n * 16_000 + 9000,
                audio_sha256=None,
                alternatives=(),
                fit=None,
                free_text=f"words {n}",
                listeners={},
                agreed=True,
                decision="reject",
                accept_at=1.0,
            ),
            NotUnderstood(utterance=name, aloud=False),
        ]
    entries = [
        Entry(seq=n, utc=start + timedelta(seconds=n / 2), sample=n * 8000, event=event, sha256="")
        for n, event in enumerate(events, start=1)
    ]
    file = tmp_path_factory.mktemp("long") / "long.html"
    file.write_text(replay_page(told(entries), Sounds()), encoding="utf-8")
    return file


def test_of_very_many_moments_only_those_in_view_are_built(visit: Any, long_page: Path):
    opened = visit(long_page)
    assert opened.text("#shown") == "All 20001 moments"
    rows = opened.page.locator("#list article")
    assert 5 < rows.count() < 40
    opened.page.locator("#list article .words button").first.focus()
    opened.page.keyboard.press("End")
    assert opened.js("document.activeElement.closest('article').getAttribute('aria-posinset')") == "20001"
    assert rows.count() < 60
    opened.js("location.hash = '#u-12345'")
    opened.until("document.querySelector('#list article.chosen')?.getAttribute('aria-posinset') === '12346'")
    opened.page.locator("#words").fill("nothing like it")
    assert opened.text("#shown") == "0 of 20001 moments" and rows.count() == 0


def test_a_shift_past_midnight_bears_both_days_though_it_is_one_day_in_utc(visit: Any, long_page: Path):
    opened = visit(long_page, timezone_id="Pacific/Auckland")  # UTC+13: from 19:00
    assert "25 Nov 2026 19:00:00 to 26 Nov 00:33:20" in opened.text(".worked .sitting")


def test_rows_stand_in_the_document_in_their_order_however_one_scrolls(visit: Any, long_page: Path):
    opened = visit(long_page)
    for top in (90_000, 40_000, 41_000, 40_700, 0, 600):
        opened.js("top => { document.querySelector('#list').scrollTop = top; }", top)
        opened.page.wait_for_timeout(60)
        places = opened.js("[...document.querySelectorAll('#list article')].map((a) => Number(a.ariaPosInSet))")
        assert places == sorted(places) and len(places) == len(set(places))
        assert places == list(range(places[0], places[-1] + 1))
