"""A real browser on real pages: Debian's Chromium, driven by Playwright. Without either, these tests are skipped."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from assistant.cli.replay_html import joint_of, read_story, shapes_of
from assistant.journal.disk import read_regular
from assistant.replay.moments import Moment
from assistant.report.page_sound import collect
from assistant.report.replay_page import replay_page
from tests.replay.telling import story_of, trusting
from tests.report.sessions_made import (
    apprentice_session,
    clicking_session,
    finished_session,
    hostile_session,
    unfinished_session,
)

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium() -> str | None:
    return next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed: scripts/setup --dev")
    program = chromium()
    if program is None:
        pytest.skip("no Chromium is installed: apt-get install chromium")
    with playwright.sync_playwright() as started:
        found = started.chromium.launch(executable_path=program, args=FLAGS)  # with a new, empty profile
        yield found
        found.close()


def hum(text: str) -> tuple[np.ndarray, int]:
    """A prompt without a voice: 0.3 s, and longer for longer texts."""
    count = int(16_000 * (0.3 + 0.004 * len(text)))
    return (2500 * np.sin(np.arange(count) / 12)).astype(np.int16), 16_000


def write(folder: Path, file: Path, *, beside: bool = False) -> Path:
    """The page of a session, with hummed prompts."""
    story, sources, found = read_story(folder, basis=trusting(folder))
    out = file.with_name(f"{file.stem}-sound")

    def keep(name: str, data: bytes) -> None:
        out.mkdir(exist_ok=True)
        (out / name).write_bytes(data)

    load = lambda name: read_regular(folder / "audio" / f"{name}.flac")  # noqa: E731
    sounds = collect(story.moments, load, render=hum, keep=keep if beside else None)
    joint = joint_of(folder, found)
    page = replay_page(
        story,
        sounds,
        report=sources.report,
        joint=joint,
        shapes=shapes_of(joint) if joint else {},
        session=folder.name,
        beside=out.name if beside else "",
    )
    file.write_text(page, encoding="utf-8")
    return file


@pytest.fixture(scope="session")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the finished session."""
    made = tmp_path_factory.mktemp("finished")
    return finished_session(made / "f", made / "keys")


@pytest.fixture(scope="session")
def moments(finished: Path) -> list[Moment]:
    """The moments of the finished session."""
    return list(story_of(finished).moments)


@pytest.fixture(scope="session")
def anchor_of(moments: list[Moment]) -> Callable[[str], str]:
    """The anchor of the first heard moment that says something, or of which something came."""

    def anchor_of(words: str) -> str:
        return next(m.anchor for m in moments if m.who == "heard" and words in " ".join([m.text, *m.outcomes]))

    return anchor_of


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory, finished: Path) -> dict[str, Path]:
    """Pages by name: finished, beside, unfinished, apprentice, typed, hostile, foreign."""
    made = tmp_path_factory.mktemp("pages")
    foreign = unfinished_session(made / "x")
    (foreign / "journal.jsonl").write_bytes(b'{"not": "ours"}\n' * 3)
    return {
        "finished": write(finished, made / "finished.html"),
        "beside": write(finished, made / "bes ide's #1.html", beside=True),
        "unfinished": write(unfinished_session(made / "u"), made / "unfinished.html"),
        "apprentice": write(apprentice_session(made / "a"), made / "apprentice.html"),
        "typed": write(clicking_session(made / "t"), made / "typed.html"),
        "hostile": write(hostile_session(made / "h"), made / "hostile.html"),
        "foreign": write(foreign, made / "foreign.html"),
    }


@dataclass
class Opened:
    """An open page, with everything that went wrong on it, and what it asked for."""

    page: Page
    errors: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def text(self, selector: str) -> str:
        return " ".join((self.page.locator(selector).first.text_content() or "").split())

    def js(self, expression: str, argument: Any = None) -> Any:
        return self.page.evaluate(expression, argument)

    def until(self, expression: str, *, seconds: float = 8.0) -> Any:
        """Wait until an expression is true. (Playwright's own waiting for one needs eval, which the page forbids.)"""
        for _ in range(int(seconds / 0.04)):
            value = self.js(expression)
            if value:
                return value
            self.page.wait_for_timeout(40)
        raise AssertionError(f"never true: {expression}")


@pytest.fixture
def visit(browser: Browser, pages: dict[str, Path]) -> Iterator[Any]:
    """Opens a page by name; afterwards it must have had no error, asked for nothing but files, shown no dialog."""
    contexts, all_opened = [], []

    def visit(name: str | Path, *, width: int = 1280, height: int = 900, link: str = "", **more: Any) -> Opened:
        context = browser.new_context(viewport={"width": width, "height": height}, **more)
        contexts.append(context)
        opened = Opened(context.new_page())
        all_opened.append(opened)
        opened.page.on("console", lambda m: opened.errors.append(m.text) if m.type in ("error", "warning") else None)
        opened.page.on("pageerror", lambda error: opened.errors.append(str(error)))
        opened.page.on("request", lambda request: opened.asked.append(request.url))
        opened.page.on("dialog", lambda dialog: (opened.dialogs.append(dialog.message), dialog.dismiss()))
        path = pages[name] if isinstance(name, str) else name
        opened.page.goto(path.as_uri() + link)
        return opened

    yield visit
    for opened in all_opened:
        assert opened.errors == [] and opened.dialogs == []
        assert all(url.startswith(("file:", "blob:")) for url in opened.asked)
    for context in contexts:
        context.close()
