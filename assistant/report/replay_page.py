"""A session as one HTML page that needs nothing else: opens from disk, asks no network, prints, works on a phone."""

from __future__ import annotations

import base64
import functools
import hashlib
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from assistant.bolting.joint import Joint
from assistant.journal.findings import Report
from assistant.replay.attention import GRADES, HEADINGS, Item
from assistant.replay.course_words import MISHEARD
from assistant.replay.record_work import Asked, Bolt
from assistant.replay.story import Story
from assistant.replay.titles import plain
from assistant.replay.verdict import verdict
from assistant.report.bolt_map import Shape, bolt_map, legend
from assistant.report.page_data import page_film, page_index, page_pieces
from assistant.report.page_json import script_json
from assistant.report.page_sound import Sounds
from assistant.report.printable import printable
from assistant.report.replay_around import around
from assistant.report.replay_head import (
    grave,
    joint_facts,
    record_words,
    session_facts,
    sitting_words,
    sorted_findings,
    tags,
)
from assistant.report.torque_chart import AnchorOf, chart_legend, panels, title_of

FOLDER = Path(__file__).parent / "templates"
SCRIPTS = ("replay_data.js", "replay_sound.js", "replay_list.js", "replay_film.js", "replay_main.js")
MOST_SHOWN = 6
"""Items of one kind that are listed at the head; the rest are found by the filter."""
MOST_COLUMNS = 40
_MOST_BOLTS = 400
_FILTER_OF = {
    "kept": "outside",
    "outside": "outside",
    "skipped": "skipped",
    "later": "skipped",
    "moved": "again",
    "corrected": "corrected",
    "asked": "asked",
    "unsure": "unsure",
    "refused": "refused",
    "not passed": "refused",
    "note": "note",
    "sound": "sound",
    "gap": "gap",
    "halt": "halt",
    "helper": "not understood",
    "broken off": "halt",
    "leak": "refused",
    "person": "halt",
    "cut short": "wait",
    "measured": "wait",
    "done over": "again",
    "rounds": "again",
    "agreed": "taught",
    "taught": "taught",
    "over to": "question",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """Items of one kind: their heading, the first of them, how many more there are, and the filter that shows all."""

    grade: str
    title: str
    items: list[Item]
    more: int
    filter: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One bolt in one pass: its words, the anchor of its moment, and how it is marked."""

    words: str
    anchor: str
    mark: str


def replay_page(
    story: Story,
    sounds: Sounds,
    *,
    report: Report | None = None,
    joint: Joint | None = None,
    shapes: dict[str, Shape] | None = None,
    session: str = "",
    beside: str = "",
) -> str:
    """The page.

    Args:
        story: of the session.
        sounds: of its conversation.
        report: what verification found; None when it was not asked.
        joint: the joint file as it was; None where it cannot be read or is not the one the session began with.
        shapes: how each group's bolts are laid out; left out, on a circle.
        session: name of the session's folder.
        beside: name of the folder with the sound, next to the page; '' when it is in the page.
    """
    style, script = _file("replay_page.css"), _script()
    faults, notes = sorted_findings(report)
    title = story.record.joint.name or session or "session"
    return (
        _pages()
        .get_template("replay_page.html.j2")
        .render(
            policy=_policy(style, script, beside=bool(beside)),
            style=Markup(style),
            script=Markup(script),
            title=title,
            session=session,
            verdict=verdict(story.record),
            grave=grave(story, sounds),
            decisions=[(each, _moment_of(story, each.line)) for each in story.record.decisions],
            tags=tags(story),
            parts=around(story),
            misheard=MISHEARD,
            facts=joint_facts(joint),
            cautions=[(each, _moment_of(story, each.line)) for each in story.record.cautions],
            days=_spans_days(story),
            made=session_facts(story),
            counts=[(name, count) for name, count in story.counts if count],
            sittings=sitting_words(story.record.session.sittings),
            record=record_words(report),
            faults=faults,
            notes=notes,
            unread=story.unread[:MOST_SHOWN],
            unread_more=max(0, len(story.unread) - MOST_SHOWN),
            headings=_headings(story),
            anchors=[moment.anchor for moment in story.moments],
            moments=story.moments,
            soundless=_soundless(story, sounds),
            named_any=any(each.witness for each in story.record.hold_points),
            maps=list(_maps(story, shapes or {})),
            legend=legend(),
            charts=list(_charts(story)),
            chart_legend=chart_legend(),
            tables=list(_tables(story)),
            releases=list(_releases(story)),
            bolts=sorted({bolt for group in story.groups for bolt in group.bolts})[:_MOST_BOLTS],
            passes=[
                (stage, story.stages[stage, 1].replace(", round 1", ""))
                for stage in story.passes
                if (stage, 1) in story.stages
            ],
            silent=sounds.silent,
            beside=beside,
            index=script_json(page_index(story, sounds, beside=quote(beside))),
            film=script_json(page_film(story)),
            pieces=map(
                script_json, page_pieces(story, sounds)
            ),  # one iterator: the first piece comes before the script
            embedded={key: Markup(text) for key, text in sounds.embedded.items()},
        )
    )


def _moment_of(story: Story, line: int | None) -> int | None:
    return story.place_of.get(line) if line is not None else None


def _soundless(story: Story, sounds: Sounds) -> frozenset[str]:
    """Anchors of what was heard and cannot be heard again: typed, missing, or broken."""
    return frozenset(
        m.anchor for m in story.moments if m.heard and sounds.states.get(m.name) not in ("kept", "changed")
    )


def _releases(story: Story) -> Iterator[tuple[Asked, int | None, int | None]]:
    """Hold points and checks in the order of the work, with the moments of the phrase and of the name."""
    both = (*story.record.hold_points, *story.record.checks)
    for each in sorted(both, key=lambda asked: asked.stage):
        yield each, _moment_of(story, each.line), _moment_of(story, each.witness_line)


def _spans_days(story: Story) -> bool:
    """Whether times need their day beside them."""
    return len({moment.utc.date() for moment in story.moments}) > 1


@functools.cache
def _pages() -> Environment:
    return Environment(
        loader=PackageLoader("assistant.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: printable(value) if type(value) is str else value,
    )


def _file(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


def _script() -> str:
    return '"use strict";\n(() => {\n' + "\n".join(_file(name) for name in SCRIPTS) + "})();\n"


def _policy(style: str, script: str, *, beside: bool) -> str:
    """Nothing may be fetched: only this style, this script, and sound that is in the page or beside it."""
    media = "media-src blob: file: 'self'" if beside else "media-src blob:"
    return (
        f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; {media}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _headings(story: Story) -> list[Heading]:
    found = []
    for kind, title in HEADINGS.items():
        items = [item for item in story.items if item.kind == kind]
        if items:
            shown = items[:MOST_SHOWN]
            found.append(
                Heading(
                    grade=items[0].grade,
                    title=title,
                    items=shown,
                    more=len(items) - len(shown),
                    filter=_FILTER_OF.get(kind, ""),
                )
            )
    return sorted(found, key=lambda heading: GRADES.index(heading.grade))


def _maps(story: Story, shapes: dict[str, Shape]) -> Iterator[tuple[str, Markup, str]]:
    """Name, picture and numbering of each group: in the end over all passes, or where the session stopped."""
    last = {frame.group: frame.signs for frame in story.film}
    for place, group in enumerate(story.groups):
        bolts = group.bolts[:_MOST_BOLTS]
        signs = (
            story.final[place] if story.record.session.closed_utc is not None else last.get(place, story.final[place])
        )
        if bolts:
            picture, caption = bolt_map(group.name, bolts, signs[: len(bolts)], shapes.get(group.name, Shape()))
            yield group.name, picture, caption


def _anchors(story: Story) -> AnchorOf:
    """From an utterance and a line to the anchor of what was said; else of the moment in which it was recorded."""
    known = {moment.name: moment.anchor for moment in reversed(story.moments) if moment.name}
    others = [(moment.number, moment.anchor) for moment in story.moments if moment.who != "assistant"]

    def anchor_of(utterance: str, line: int) -> str:
        place = bisect_right(others, line, key=lambda each: each[0])
        return known.get(utterance) or (others[place - 1][1] if place else "")

    return anchor_of


def _charts(story: Story) -> Iterator[tuple[str, list[object], int]]:
    """Name of each group, its panels, and how many passes with figures are left out."""
    anchor_of = _anchors(story)
    for group in story.groups:
        passes = [each for each in story.record.passes if each.group == group.name]
        shown = panels(passes, anchor_of)
        with_figures = sum(any(b.on_scale is not None for b in each.bolts) for each in passes)
        yield group.name, list(shown), max(0, with_figures - len(shown))


def _tables(story: Story) -> Iterator[tuple[str, list[str], list[tuple[int, list[Cell]]], int]]:
    """For each group its name, the titles of its passes, its bolts with a cell a pass, and passes left out."""
    anchor_of = _anchors(story)
    for group in story.groups:
        passes = [each for each in story.record.passes if each.group == group.name]
        shown = passes[:MOST_COLUMNS]
        by_bolt = [{bolt.bolt: bolt for bolt in each.bolts} for each in shown]
        rows = [(bolt, [_cell(cells.get(bolt), anchor_of) for cells in by_bolt]) for bolt in group.bolts[:_MOST_BOLTS]]
        yield group.name, [title_of(each) for each in shown], rows, len(passes) - len(shown)


def _cell(bolt: Bolt | None, anchor_of: AnchorOf) -> Cell:
    if bolt is None:
        return Cell(words="", anchor="", mark="")
    counts = [entry for entry in bolt.entries if entry.standing == "counts"]
    kept = any(entry.kind == "reading kept" for entry in counts)
    figures = [plain(entry.value.value) for entry in counts if entry.kind.startswith("reading") and entry.value]
    words = [*(f"{each} kept" if kept else each for each in figures)]
    words += [entry.kind for entry in counts if not entry.kind.startswith("reading")]
    asked = any(entry.confirmed_by for entry in counts)
    mark = "kept" if kept else "moved" if bolt.movement == "moved" else "asked" if asked else ""
    return Cell(
        words=", ".join(words),
        anchor=anchor_of(counts[0].utterance, counts[0].line) if counts else "",
        mark=mark,
    )


__all__: Sequence[str] = ["replay_page"]
