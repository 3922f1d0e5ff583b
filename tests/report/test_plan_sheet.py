"""The plan sheet for the job file: HTML that needs nothing else, and PDF."""

import re
from html.parser import HTMLParser

import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.report.plan_content import plan_content
from assistant.report.plan_sheet import plan_html, plan_pdf
from tests.bolting.joint_samples import DEMOS, FLANGE, TODAY, joint

ALL_DEMOS = sorted(DEMOS.glob("*.toml"))


def made(path=FLANGE):
    return plan(read_joint(path, today=TODAY), today=TODAY)


class Page(HTMLParser):
    """Text of a page, its tags, and whether tags are balanced."""

    VOID = ("meta", "br", "link", "img", "hr")

    def __init__(self, page):
        super().__init__()
        self.text, self.tags, self.attributes, self.open = "", [], [], []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data):
        if not self.open or self.open[-1] != "style":
            self.text += data + " "


@pytest.mark.parametrize("path", ALL_DEMOS, ids=lambda path: path.stem)
def test_the_page_needs_nothing_else_and_holds_everything(path):
    whole = made(path)
    html = plan_html(whole)
    page = Page(html)
    assert not {"script", "link", "img", "iframe", "object"} & set(page.tags)
    assert not [name for name, _ in page.attributes if name in ("src", "href") or name.startswith("on")]
    assert "url(" not in html and "@import" not in html
    assert page.tags.count("svg") == 2 * len(whole.groups) + (whole.joint.kind == "split clamp coupling")
    content = plan_content(whole)
    flat = "".join(page.text.split())
    wanted = [content.title, *content.safety, *(text for _, text in content.questions)]
    for group in content.groups:
        wanted += [cell for row in group.rows for cell in row] + [text for _, text in group.orders]
        wanted += [each.result for each in group.reasons] + [each.text for each in group.remarks]
    for words in wanted:
        assert "".join(words.split()) in flat, words


def test_what_a_file_says_cannot_become_markup():
    evil = "<script>alert(1)</script>"
    whole = plan(joint(name=evil, place=evil, groups__0__name=evil, instruction__title=evil), today=TODAY)
    html = plan_html(whole)
    assert "<script" not in html and "&lt;script&gt;" in html


@pytest.mark.parametrize("path", ALL_DEMOS, ids=lambda path: path.stem)
def test_the_pdf_is_one_and_the_same_for_the_same_plan(path):
    data = plan_pdf(made(path))
    assert data.startswith(b"%PDF-") and data.rstrip().endswith(b"%%EOF")
    assert len(re.findall(rb"/Type\s*/Page\b", data)) >= 2
    assert data == plan_pdf(made(path))


def test_the_pdf_takes_any_letters():
    whole = plan(joint(name="Łódź 5 µm – ‘joint’ 漢"), today=TODAY)
    assert plan_pdf(whole).startswith(b"%PDF-")
