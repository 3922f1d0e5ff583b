"""The board's page in a real browser: large on a tablet and a screen, in sun and dark, honest when it is cut off."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

pytest.importorskip("bottle", reason="bottle is not installed: scripts/setup")

from assistant.devices.board_server import BoardServer
from assistant.report.board import glance
from assistant.report.board_page import page_file, picture
from tests.procedure.talk import Talk, command, value

TABLET, SCREEN = {"width": 1024, "height": 768}, {"width": 1920, "height": 1080}
READABLE_PX = 130
"""So high is a figure on a tablet, 5 cm at 66 px a cm: read from two metres with ease (common practice, no source)."""


@pytest.fixture
def server(socket_enabled) -> Iterator[BoardServer]:
    made = BoardServer(page_file)
    yield made
    made.close()


def opened(browser, server: BoardServer, *, size=TABLET, scheme: str = "light"):
    context = browser.new_context(viewport=size, color_scheme=scheme)
    page = context.new_page()
    page.goto(server.url)
    return page


def states() -> dict[str, str]:
    pulling, stopped, outside = Talk.at_pass(2), Talk.at_pass(2), Talk.at_pass(2)
    stopped.hear(command("stop"))
    outside.hear(value("150"))
    talks = {"pulling": pulling, "stopped": stopped, "outside": outside, "question": Talk.begun()}
    return {name: picture(glance(talk.state, "12:00:01 heard one eighty")) for name, talk in talks.items()}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [TABLET, SCREEN], ids=["tablet", "screen"])
def test_each_state_fills_the_page_and_nothing_is_cut(browser, server, size, scheme, tmp_path):
    page = opened(browser, server, size=size, scheme=scheme)
    for name, told in states().items():
        server.show(told)
        page.wait_for_function("told => document.title !== told", arg="Board")
        page.wait_for_function(
            "told => document.getElementById('board').dataset.kind === JSON.parse(told).kind", arg=told
        )
        fits = page.evaluate(
            "() => { const b = document.getElementById('board');"
            " return b.scrollHeight <= b.clientHeight && b.scrollWidth <= b.clientWidth; }"
        )
        assert fits, name
        assert page.locator("#stale").is_hidden()
        page.screenshot(path=str(tmp_path / f"{name}-{scheme}-{size['width']}.png"))
    assert page.locator("#say").inner_text() == "locked out and tried"


def test_a_figure_is_large_enough_for_two_metres(browser, server):
    page = opened(browser, server)
    server.show(states()["pulling"])
    page.wait_for_selector("#figures b")
    heights = page.locator("#figures b").evaluate_all("all => all.map(each => each.getBoundingClientRect().height)")
    assert len(heights) == 2 and min(heights) >= READABLE_PX


def test_stopped_shows_no_bolt(browser, server):
    page = opened(browser, server)
    server.show(states()["pulling"])
    page.wait_for_selector("#figures b")
    server.show(states()["stopped"])
    page.wait_for_selector('#board[data-kind="stopped"]')
    assert page.locator("#heading").inner_text() == "STOPPED" and page.locator("#figures b").count() == 0


def test_a_page_that_is_cut_off_says_so_and_hides_the_bolt(browser, socket_enabled):
    server = BoardServer(page_file)
    page = opened(browser, server)
    server.show(states()["pulling"])
    page.wait_for_selector("#figures b")
    server.close()
    page.wait_for_selector("#stale", state="visible", timeout=15_000)
    assert "NOT CURRENT" in page.locator("#stale").inner_text()


def test_nothing_is_loaded_from_elsewhere_and_nothing_is_wrong_for_those_who_cannot_see_it(browser, server):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    page = opened(browser, server)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for told in states().values():
        server.show(told)
        page.wait_for_function(
            "told => document.getElementById('board').dataset.kind === JSON.parse(told).kind", arg=told
        )
        found = axe.Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa"]})
        assert found.violations_count == 0, found.generate_report()
    page.reload()
    assert asked and all(url.startswith(server.url) for url in asked)
