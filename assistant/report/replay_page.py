"""A session as one HTML page that needs nothing else: opens from disk, asks no network, prints, works on a phone."""

from __future__ import annotations

import base64
import functools
import hashlib
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from assistant.bolting.joint_file.joint import Joint
from assistant.journal.findings import Report
from assistant.replay.attention import GRADES, HEADINGS, Item
from assistant.replay.record_work import Asked, Bolt
from assistant.replay.related import last_torques
from assistant.replay.story import Story
from assistant.replay.titles import MISHEARD, UNIT_SIGNS, plain
from assistant.replay.verdict import verdict
from assistant.report.bolt_map import Got, Shape, bolt_map, legend, marks_legend
from assistant.report.look import tokens_css
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
from assistant.report.wording import words_in

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
    style, script = f"{tokens_css()}{_file('replay_page.css')}", _script()
    faults, notes = sorted_findings(report)
    title = story.record.joint.name or session or "session"
    headings, texts = _headings(story), words_in(story.record.session.language)
    return texts.markup(
        _pages()
        .get_template("replay_page.html.j2")
        .render(
            lang=texts.language,
            policy=_policy(style, script, beside=bool(beside)),
            style=Markup(style),
            script=Markup(script),
            title=title,
            session=session,
            verdict=verdict(story.record),
            grave=grave(story, sounds),
            where=" · ".join(part for part in (story.record.joint.place, story.record.joint.tag) if part),
            worked=_worked(story),
            decided_title="What was decided" if story.record.verdict == "accepted" else "To be decided",
            settle=_settle(story, session),
            looks=sum(len(each.items) + each.more for each in headings),
            clock=story.record.session.clock,
            rulings=story.record.review.rulings if story.record.review is not None else (),
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
            headings=headings,
            anchors=[moment.anchor for moment in story.moments],
            moments=story.moments,
            soundless=_soundless(story, sounds),
            named_any=any(each.witness for each in story.record.hold_points),
            maps=list(_maps(story, shapes or {})),
            legend=legend(),
            marks=_marks(story),
            chips=_chips(story),
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
            index=script_json(page_index(story, sounds, beside=quote(beside), texts=texts)),
            film=script_json(page_film(story, texts)),
            pieces=map(
                script_json, page_pieces(story, sounds, texts)
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
    """Hold points and checks in the order of the work, with the moments in which the phrase and the name were said.

    The line that keeps a name belongs to the "yes" after its read-back; who hears it must hear the name itself.
    """
    said = {moment.name: place for place, moment in enumerate(story.moments) if moment.who == "heard"}
    both = (*story.record.hold_points, *story.record.checks)
    for each in sorted(both, key=lambda asked: asked.stage):
        passed = said.get(each.utterance, _moment_of(story, each.line))
        yield each, passed, said.get(each.witness_utterance, _moment_of(story, each.witness_line))


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


_DECIDED = ("kept", "cut short")
"""Kinds of item that stand among what is to be decided."""
_CHIPS = (
    ("recorded", "recorded"),
    ("asked", "asked"),
    ("unsure", "least sure"),
    ("corrected", "corrected"),
    ("outside", "out of window"),
    ("skipped", "skipped"),
    ("refused", "refused"),
    ("again", "re-torqued"),
    ("not understood", "not understood"),
    ("question", "hold points, checks"),
    ("wait", "waits, measurements"),
    ("taught", "apprentice"),
    ("note", "notes"),
    ("halt", "stops, breaks"),
    ("gap", "long gaps"),
    ("sound", "sound lost"),
)


def _chips(story: Story) -> list[tuple[str, str, int]]:
    """Filters of the conversation: mark, name, and how many moments have it; none for what nothing has."""
    counts = Counter(mark for moment in story.moments for mark in moment.marks)
    return [(mark, name, counts[mark]) for mark, name in _CHIPS if counts[mark]]


def _worked(story: Story) -> tuple[datetime, datetime] | None:
    sittings = story.record.session.sittings
    return (sittings[0].from_utc, sittings[-1].to_utc) if sittings else None


def _settle(story: Story, session: str) -> list[tuple[str, str]]:
    """What to type to settle what is to be decided, in words and as commands; nothing where no ruling is asked for."""
    record = story.record
    if not session or record.session.how or record.verdict not in ("to-decide", "complete", "to-redo"):
        return []
    named = next(((d.group, d.bolt) for d in record.decisions if d.bolt is not None), None)
    groups = {each.group for each in record.passes}
    bolt = "BOLT" if named is None else str(named[1]) if len(groups) == 1 else f'"{named[0]}:{named[1]}"'
    review = f"assistant review {session} --by NAME"
    return [
        ("To accept the joint as it is, and say why:", f'{review} --accept --comment "..." --sign'),
        ("To have a bolt done again:", f'{review} --redo {bolt} --comment "..." --sign'),
    ]


def _headings(story: Story) -> list[Heading]:
    found = []
    for kind, title in HEADINGS.items():
        if kind in _DECIDED:
            continue
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
            shape, got = shapes.get(group.name, Shape()), _got(story, group.name)
            picture, caption = bolt_map(group.name, bolts, signs[: len(bolts)], shape, got)
            yield group.name, picture, caption


def _got(story: Story, group: str) -> dict[int, Got]:
    """What each bolt of a group got, and what was out of the ordinary about it in any pass."""
    record = story.record
    last = last_torques(record.passes)
    decided = {each.bolt for each in record.decisions if each.group in ("", group)}
    found = {}
    for bolt in {b.bolt for p in record.passes if p.group == group for b in p.bolts}:
        cells = [b for p in record.passes if p.group == group for b in p.bolts if b.bolt == bolt]
        entries = [entry for cell in cells for entry in cell.entries]
        torque = last.get((group, bolt))
        moved = any(cell.movement == "moved" for cell in cells)
        corrected = any(entry.standing != "counts" for entry in entries)
        asked = any(entry.confirmed_by for entry in entries)
        what = [
            *(["to be decided"] if bolt in decided else []),
            *(["corrected"] if corrected else []),
            *(["asked about"] if asked else []),
            *(["its nut moved in some round"] if moved else []),
        ]
        figures = "" if torque is None else plain(torque.value)
        words = f"Bolt {bolt}: " + ", ".join([figures and f"{figures} {torque.unit}" if torque else "no figure", *what])
        found[bolt] = Got(
            torque=figures, doubt=bolt in decided or corrected or asked, moved=moved, words=words.replace("*", "·")
        )
    return found


def _marks(story: Story) -> Markup:
    got = [each for group in story.groups for each in _got(story, group.name).values()]
    units = {UNIT_SIGNS.get(t.unit, t.unit) for t in last_torques(story.record.passes).values()}
    return marks_legend(
        doubt=any(each.doubt for each in got), moved=any(each.moved for each in got), unit=" or ".join(sorted(units))
    )


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
