"""The lead's page in a real browser: what is pressed, dragged, typed, heard, linked to."""

from __future__ import annotations

from typing import Any

import pytest

from assistant.replay.frames import SIGNS
from assistant.replay.moments import Moment

SOUNDING = "document.querySelector('audio').currentTime > 0.02 && !document.querySelector('audio').paused"


@pytest.mark.parametrize("name", ["finished", "beside", "unfinished", "apprentice", "typed", "hostile", "foreign"])
def test_every_page_opens_without_an_error_and_asks_for_nothing(visit: Any, name: str):
    opened = visit(name)
    assert opened.js("document.title").startswith("Replay: ")
    assert opened.page.locator("h1").is_visible() and opened.page.locator(".verdict").is_visible()
    assert len(opened.asked) == 1
    shown = opened.page.locator("#list article").count()
    assert (shown > 0) == (name != "foreign")


def test_a_recording_is_heard_from_the_list_of_what_to_look_at_first(visit: Any):
    opened = visit("finished")
    opened.page.get_by_role("button", name="Hear: At bolt 7").click()
    opened.until(
        f"{SOUNDING} && document.querySelector('.hear.sounding')?.ariaLabel.includes('paint flakes') && "
        "document.querySelector('#now').textContent === 'paint flakes under washer three'"
    )
    assert opened.js("document.querySelector('audio').duration") == pytest.approx(1.9, abs=0.6)
    opened.until("document.querySelectorAll('.hear.sounding').length === 0")
    assert opened.js("document.querySelector('audio').paused && document.querySelector('audio').currentTime > 1")


def test_sound_beside_the_page_is_heard_too(visit: Any, anchor_of: Any):
    opened = visit("beside")
    opened.page.get_by_role("button", name="Hear: Bolt 5: asked").click()
    opened.until(SOUNDING)
    assert any(url.endswith(f"{anchor_of('asked: 52 or 72?')[2:]}.flac") for url in opened.asked)


def test_the_whole_conversation_is_played_in_order_at_three_times_the_speed(visit: Any):
    opened = visit("finished")
    opened.page.get_by_label("Speed").select_option("3")
    opened.page.get_by_role("button", name="Play what is shown").click()
    opened.until("document.querySelector('#now').textContent.startsWith('Pump 2 discharge flange.')")
    opened.until(f"{SOUNDING} && document.querySelector('audio').playbackRate === 3")
    opened.until("document.querySelector('#now').textContent === 'locked out and tried'")
    opened.page.get_by_role("button", name="Hold", exact=True).click()
    opened.until("document.querySelector('audio').paused")
    place = "Number(document.querySelector('#now-place').textContent.match(/· (\\d+) of/)[1])"
    before = opened.js(place)
    opened.page.get_by_role("button", name="Moment after").click()
    opened.until(f"{place} > {before} && document.querySelectorAll('#list article.sounding').length === 1")


def test_the_film_follows_what_is_played(visit: Any, anchor_of: Any):
    opened = visit("finished", link=f"#{anchor_of('bolt 2 moved, round 1')}")
    opened.page.get_by_role("button", name="Play what is shown").click()
    opened.until("document.querySelector('#film-says').textContent.includes('bolt 3 did not move')")


def test_without_prompts_only_what_was_heard_is_played(visit: Any, moments: list[Moment]):
    count = sum(moment.who == "heard" for moment in moments)
    opened = visit("finished")
    opened.page.get_by_label("with prompts").uncheck()
    opened.page.get_by_role("button", name="Play what is shown").click()
    opened.until(f"document.querySelector('#now-place').textContent.includes('1 of {count}')")


def test_what_to_look_at_first_is_heard_one_after_another(visit: Any):
    opened = visit("finished")
    opened.page.get_by_role("button", name="Hear these one after another").click()
    opened.until(f"{SOUNDING} && document.querySelector('#now').textContent === 'nut face is damaged, lead agreed'")
    decide, look = (
        {each.get_attribute("data-play") for each in opened.page.locator(f"{part} [data-play]").all()}
        for part in ("#decide", "#attention")
    )
    assert decide and len(look - decide) > 14
    assert opened.text("#now-place").endswith(f" of {len(decide | look)}")


def test_the_film_shows_the_bolts_as_they_were(visit: Any):
    opened = visit("finished")
    signs = "[...document.querySelectorAll('.map .bolt')].map((b) => b.getAttribute('class').slice(-1)).join('')"
    assert opened.js(signs) == "d" + SIGNS["outside"] + "dddddd"
    slider = opened.page.get_by_role("slider", name="Moment of the work")
    slider.focus()
    opened.page.keyboard.press("Home")
    assert opened.js(signs) == "n" + "p" * 7
    assert "Snug" in slider.get_attribute("aria-valuetext")
    opened.page.keyboard.press("ArrowRight")
    assert opened.js(signs) == "dpppnppp"
    assert "recorded: bolt 1 snug" in opened.text("#film-says")
    opened.page.get_by_role("button", name="Run through the work").click()
    opened.until(f"{signs} !== 'dpppnppp'")
    opened.page.get_by_role("button", name="Hold here").click()
    opened.page.get_by_role("button", name="To the end").click()
    assert opened.js(signs) == "d" + SIGNS["outside"] + "dddddd"


def test_the_film_leads_to_its_moment_and_a_moment_leads_the_film(visit: Any, anchor_of: Any):
    opened = visit("finished")
    slider = opened.page.get_by_role("slider", name="Moment of the work")
    slider.focus()
    opened.page.keyboard.press("Home")
    opened.page.keyboard.press("ArrowRight")
    opened.page.get_by_role("link", name="Show this moment in the conversation").click()
    opened.until("document.querySelector('#list article.chosen')")
    assert "recorded: bolt 1 snug" in opened.text("#list article.chosen")
    opened.js(f"location.hash = '#{anchor_of('bolt 2 moved, round 1')}'")
    opened.until("document.querySelector('#film-says').textContent.includes('bolt 2 moved')")
    assert opened.page.locator(".map .bolt.s-m").count() == 1


def test_only_the_shape_of_its_state_is_seen_of_a_bolt(visit: Any):
    opened = visit("finished")
    seen = opened.js(
        """[...document.querySelectorAll('.legend .bolt')].map((bolt) => [...bolt.children]
        .filter((c) => getComputedStyle(c).display !== 'none').map((c) => c.tagName + c.getAttribute('class')))"""
    )
    assert len(seen) == len(SIGNS) and all(len(each) == 1 for each in seen)
    assert len({each[0] for each in seen}) == len(SIGNS)


def test_the_conversation_is_narrowed_down_and_opened_up_again(visit: Any, moments: list[Moment]):
    opened = visit("finished")
    count = len(moments)
    assert opened.text("#shown") == f"All {count} moments"
    chips = opened.page.locator(".chips label")
    chips.filter(has_text="out of window").click()
    assert opened.text("#shown") == f"3 of {count} moments"
    chips.filter(has_text="skipped").click()
    assert opened.text("#shown") == f"5 of {count} moments"
    opened.page.get_by_role("button", name="Show everything").click()
    assert opened.text("#shown") == f"All {count} moments"
    opened.page.locator("#bolt").select_option("7")
    rows = opened.js("[...document.querySelectorAll('#list article')].map((a) => a.textContent)")
    assert 5 < len(rows) < 40 and any("200" in row for row in rows)
    opened.page.locator("#pass").select_option(label="Pass 2, 102 N·m")
    assert opened.js("[...document.querySelectorAll('#list article.heard .said')].map((s) => s.textContent)") == [
        "90",
        "102",
    ]
    opened.page.get_by_role("button", name="Show everything").click()
    opened.page.get_by_label("Words").fill("paint flakes")
    assert opened.text("#shown") == f"1 of {count} moments"
    opened.page.get_by_label("Words").fill("")
    opened.page.get_by_label("prompts", exact=True).uncheck()
    assert opened.page.locator("#list article.assistant").count() == 0


def test_moments_of_one_kind_are_shown_and_one_of_them_among_all_others(visit: Any, moments: list[Moment]):
    opened = visit("finished")
    opened.page.locator(".chips label").filter(has_text="not understood").click()
    assert opened.text("#shown") == f"1 of {len(moments)} moments"
    opened.page.locator("#list article .words button").first.click()
    assert "is the other gasket in the van" in opened.text("#list article.chosen .detail")
    opened.page.get_by_role("button", name="Show it among all moments").click()
    assert opened.text("#shown") == f"All {len(moments)} moments"
    assert "is the other gasket in the van" in opened.text("#list article.chosen .detail")


def test_the_keys_move_open_and_play(visit: Any, moments: list[Moment]):
    opened = visit("finished")
    opened.page.locator("#list article .words button").first.focus()
    place = next(
        n for n, each in enumerate(moments) if any(o.startswith("hold point passed: lock-out") for o in each.outcomes)
    )
    for _ in range(place):
        opened.page.keyboard.press("ArrowDown")
    focused = "document.activeElement.closest('article')?.getAttribute('aria-posinset')"
    assert opened.js(focused) == str(place + 1)
    opened.page.keyboard.press("Enter")
    assert opened.js("document.activeElement.getAttribute('aria-expanded')") == "true"
    assert "hold point passed: lock-out" in opened.text("#list article.chosen .detail")
    opened.page.keyboard.press("Space")
    opened.until(SOUNDING)
    opened.page.keyboard.press("End")
    assert opened.js(focused) == str(len(moments))
    opened.page.keyboard.press("Home")
    assert opened.js(focused) == "1"
    opened.page.keyboard.press("Enter")
    opened.page.keyboard.press("Enter")
    assert opened.page.locator("#list article.chosen").count() == 0


def test_what_is_opened_tells_alternatives_listeners_and_the_recording(visit: Any, anchor_of: Any):
    asked = anchor_of("asked: 52 or 72?")
    opened = visit("finished", link=f"#{asked}")
    detail = opened.text("#list article.chosen .detail")
    for words in (
        "72",
        "24 %",
        "differed: vosk heard “seventy two”",
        "without a question only where at least 95 % sure",
        f"{asked[2:]}.flac",
        "as it was kept",
        "12.5 dB",
    ):
        assert words in detail, words


def test_a_link_to_a_moment_opens_it_and_brings_it_into_view(visit: Any, anchor_of: Any, moments: list[Moment]):
    opened = visit("finished", link=f"#{anchor_of('nut face is damaged')}")
    chosen = opened.page.locator("#list article.chosen")
    assert "nut face is damaged" in (chosen.text_content() or "")
    box, player = chosen.locator(".line").bounding_box(), opened.page.locator("#player").bounding_box()
    assert box["y"] >= 0 and box["y"] + box["height"] <= player["y"]
    opened.page.locator(".chips label").filter(has_text="notes").click()
    opened.js(f"location.hash = '#{anchor_of('dry')}'")  # filtered out: everything is shown again
    opened.until("document.querySelector('#list article.chosen')?.textContent.includes('dry')")
    assert opened.text("#shown") == f"All {len(moments)} moments"
    opened.js("location.hash = '#u-9999'")
    assert "dry" in (opened.page.locator("#list article.chosen").text_content() or "")


def test_a_figure_in_the_table_and_a_mark_in_the_plot_lead_to_their_moment(visit: Any):
    opened = visit("finished")
    opened.page.get_by_role("link", name="90 kept").click()
    opened.until("document.querySelector('#list article.chosen .said')?.textContent === '90'")
    opened.page.locator(".panel a").first.focus()
    opened.page.keyboard.press("Enter")
    opened.until("document.querySelector('#list article.chosen')?.textContent.includes('bolt 1, pass 1')")


@pytest.mark.parametrize(("name", "width"), [("finished", 320), ("finished", 768), ("hostile", 390)])
def test_a_narrow_screen_does_not_scroll_sideways(visit: Any, name: str, width: int):
    opened = visit(name, width=width, height=740, link="#u-0001")
    assert opened.js("document.documentElement.scrollWidth") <= width
    for selector in ("#list article.chosen .line", "#player", "#seek", "#total", "#filters select", ".map"):
        for each in opened.page.locator(selector).all():
            box = each.bounding_box()
            assert box["x"] >= 0 and box["x"] + box["width"] <= width + 0.5, selector


def test_a_phone_plays_by_touch(visit: Any):
    opened = visit("finished", width=390, height=844, has_touch=True, is_mobile=True)
    small = opened.js(
        """[...document.querySelectorAll('button')]
        .filter((b) => b.offsetParent && (b.offsetWidth < 24 || b.offsetHeight < 24)).length"""
    )
    assert small == 0
    opened.page.get_by_role("button", name="Hear: Bolt 5: asked").tap()
    opened.until(SOUNDING)


def test_times_are_this_computers_and_on_request_utc_as_in_the_record(visit: Any):
    opened = visit("finished", timezone_id="Asia/Kolkata")
    first = "document.querySelector('#list article .at').textContent"
    assert "15:45:00" in opened.js(first)
    assert "25 Nov 2026 15:45:00" in opened.text(".worked .sitting")
    assert opened.text("#zone") == "local (UTC+05:30)"
    opened.page.get_by_role("button", name="UTC+05:30").click()
    assert "10:15:00" in opened.js(first)
    assert "25 Nov 2026 10:15:00" in opened.text(".worked .sitting")
    assert opened.text("#zone") == "UTC, as in the record"


def test_a_time_of_a_later_day_bears_its_day_and_one_of_the_first_day_does_not(visit: Any):
    opened = visit("finished", timezone_id="Pacific/Auckland")  # UTC+13: 25 Nov 10:15 UTC is 23:15

    def passed(name: str) -> str:
        row = opened.page.locator("#holds li").filter(has=opened.page.get_by_text(f"Hold point: {name}", exact=True))
        return row.locator(".passed time").text_content() or ""

    assert passed("lock-out") == "23:15:48"
    assert passed("gaps measured") == "26 Nov 00:25:30"
    assert passed("re-check lock-out") == "27 Nov 00:28:54"
    opened.page.get_by_role("button", name="UTC+13:00").click()
    assert passed("gaps measured") == "11:25:30"
    assert passed("re-check lock-out") == "26 Nov 11:28:54"


def test_the_page_cannot_reach_out_even_if_told_to(visit: Any):
    opened = visit("hostile")
    refused = opened.js(
        """async () => {
        const seen = [];
        document.addEventListener('securitypolicyviolation', (event) => seen.push(event.effectiveDirective));
        await fetch('http://127.0.0.1:9/').catch(() => 0);
        const image = document.createElement('img'), script = document.createElement('script');
        image.src = 'http://127.0.0.1:9/x.png';
        script.textContent = 'window.broken = 1';
        document.body.append(image, script);
        await new Promise((done) => setTimeout(done, 150));
        return [seen.sort(), window.broken];
    }"""
    )
    assert refused == [["connect-src", "img-src", "script-src-elem"], None]
    opened.errors.clear()  # the browser reports each refusal
    opened.asked[:] = [url for url in opened.asked if "127.0.0.1:9" not in url]


def test_without_scripts_head_list_readings_and_pictures_are_there(visit: Any):
    opened = visit("finished", java_script_enabled=False)
    assert opened.page.get_by_role("heading", name="To be decided").is_visible()
    assert opened.page.get_by_role("cell", name="90 kept").is_visible()
    assert opened.page.locator(".map .bolt.s-o .o").is_visible()
    assert opened.page.get_by_text("need scripts").is_visible()
    assert not opened.page.locator("#player").is_visible()


def test_print_holds_the_conversation_that_is_shown_and_no_controls(visit: Any, moments: list[Moment]):
    opened = visit("finished")
    opened.page.locator(".chips label").filter(has_text="recorded").first.click()
    opened.page.emulate_media(media="print")
    opened.js("window.dispatchEvent(new Event('beforeprint'))")
    rows = opened.page.locator("#printed article")
    assert f"{rows.count()} of {len(moments)} moments" == opened.text("#shown")
    assert rows.first.is_visible()
    for selector in ("#player", "#list", "#filters", ".film", ".hear"):
        assert not opened.page.locator(selector).first.is_visible(), selector
    assert opened.page.pdf(prefer_css_page_size=True).startswith(b"%PDF-")


def test_who_released_a_hold_point_is_heard_and_an_apprentices_session_says_so(visit: Any):
    opened = visit("apprentice")
    assert opened.text(".tags") == "Apprentice"
    lock_out = opened.page.locator("#holds li").filter(has=opened.page.get_by_text("Hold point: lock-out", exact=True))
    assert "released by “Robin Marsh”, in the role: lead (as heard)" in " ".join(
        (lock_out.text_content() or "").split()
    )
    lock_out.get_by_role("button", name="Hear: name").click()
    opened.until(f"{SOUNDING} && document.querySelector('#now').textContent === 'Robin Marsh'")
    waits = opened.text("#around .part:has(h3:text-is('Waits'))")
    assert "cut short after" in waits and "“only a trial”" in waits
