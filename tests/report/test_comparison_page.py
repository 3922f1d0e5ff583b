"""The comparison for people: text, and a page that needs nothing else and runs nothing."""

from __future__ import annotations

from html.parser import HTMLParser

from assistant.replay.comparison import compare
from assistant.report.comparison_text import change_plot, comparison_html, comparison_text, summary_words
from tests.replay.telling import record_of

HOSTILE = "</title><script>alert(1)</script><img src=x onerror=alert(2)> \x1b[2J"


class Page(HTMLParser):
    """Open tags in order, and what is not closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_page_is_whole_and_fetches_and_runs_nothing(done_session, repairs_session):
    text = comparison_html(compare(record_of(done_session), record_of(repairs_session)))
    page = Page(text)
    assert page.open == [] and not {"script", "img", "link", "iframe", "a", "form"} & set(page.tags)
    assert not any(name.startswith("on") or name in ("src", "href") for name, _ in page.attributes)
    assert "default-src 'none'" in text and page.tags.count("svg") == 0 and page.tags.count("h1") == 1


def test_hostile_names_are_shown_as_text(done_session):
    record = record_of(done_session)
    session = record.session.model_copy(update={"folder": HOSTILE})
    joint = record.joint.model_copy(update={"name": HOSTILE})
    found = compare(record.model_copy(update={"session": session, "joint": joint}), record)
    page = Page(comparison_html(found))
    assert page.open == [] and "script" not in page.tags and "img" not in page.tags
    assert "\x1b" not in comparison_text(found)


def test_text_and_plot_hold_every_bolt_and_the_summary(done_session, repairs_session):
    found = compare(record_of(done_session), record_of(done_session))
    text = comparison_text(found)
    assert summary_words(found).split(":")[0] in text and "8 bolts have a torque in both" in summary_words(found)
    assert text.count("flange bolts, pass") == 3 and "* " not in text.split("LAST TORQUE")[0]
    plot = change_plot(found, "flange bolts")
    assert Page(comparison_html(found)).tags.count("svg") == 1
    assert plot.count("<rect") == 8 and change_plot(found, "nobody's") == ""
    none = compare(record_of(repairs_session), record_of(repairs_session).model_copy(update={"passes": ()}))
    assert "No bolt has a torque in both" in summary_words(none)
    assert Page(comparison_html(none)).open == []
