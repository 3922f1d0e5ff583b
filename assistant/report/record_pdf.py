"""The joint record as an archival PDF: answer and open points first, pictures, every entry, seals, signatures.

The record's JSON and the CSV table are attached to it, so that the filed document can be computed with again.
"""

from __future__ import annotations

from datetime import datetime, timezone

from assistant.bolting.reason import Reason, Term
from assistant.replay.record_basis import Calculated
from assistant.replay.record_fields import JointRecord
from assistant.replay.verdict import COLOURS
from assistant.report import record_around, record_groups, record_tables
from assistant.report.look import VERDICT_COLOURS, rgb
from assistant.report.paper import Paper
from assistant.report.plan_content import reason_in
from assistant.report.record_blocks import Block
from assistant.report.record_csv import record_csv
from assistant.report.record_plot import bolt_picture, plot_words, torque_plot
from assistant.report.wording import words_in

SAFETY = "It does not replace a competent person. It holds what was said and heard; it does not show that it is true."
MOST_ROWS = 2000
"""Rows of one table in the PDF; the attached files hold all."""
_EPOCH = datetime(2000, 1, 1, tzinfo=timezone.utc)


def record_pdf(record: JointRecord) -> bytes:
    """The record as PDF/A-3, A4. The same record gives the same bytes."""
    made = max([_EPOCH, *(t for t in (record.session.opened_utc, record.session.closed_utc, _last(record)) if t)])
    title = f"Joint record: {record.joint.name or record.session.folder}"
    words = words_in(record.session.language)
    paper = Paper(words.say(title), foot=record.session.folder, made=made, product=record.product, texts=words)
    _first_page(paper, record, title)
    for block in (record_tables.identification(record), record_tables.tools(record), record_tables.questions(record)):
        _block(paper, block, record)
    for name in record_groups.group_names(record):
        for at, block in enumerate(record_groups.group_blocks(record, name)):
            _block(paper, block, record, level=min(at, 1))
    for block in (*record_around.around_blocks(record), *record_around.apprentice_blocks(record)):
        _block(paper, block, record)
    for block in (*record_tables.events(record), record_tables.later(record), *record_tables.trust(record)):
        _block(paper, block, record)
    _signatures(paper, record)
    entries = record_groups.entry_blocks(record)
    if entries:
        paper.heading(words.say("Every entry, pass by pass"), room_mm=60)
    for block in entries:
        _block(paper, block, record, level=1)
    for name in record_groups.group_names(record):
        _calculation(paper, record, name)
    _attach(paper, record)
    return bytes(paper.output())


def _last(record: JointRecord) -> datetime | None:
    return record.review.rulings[-1].utc if record.review is not None and record.review.rulings else None


def _first_page(paper: Paper, record: JointRecord, title: str) -> None:
    say = paper.say
    answer, reason, facts = record_tables.headline(record)
    paper.start_section(paper.fit(say(title)))
    paper.words(say(title), size=16, style="B")
    paper.ln(1.5)
    top = paper.get_y()
    paper.set_xy(paper.l_margin + 3, top + 2.5)
    paper.set_font("sans-serif", "B", 13)
    words = VERDICT_COLOURS[COLOURS[record.verdict]][0]
    paper.set_text_color(*rgb(words))
    paper.cell(50, 6, paper.fit(say(answer)))
    paper.set_text_color(0)
    paper.set_y(top + 9.5)
    for fact in (say(reason), *(say(each) for each in facts)):
        paper.set_font("sans-serif", size=8.5)
        paper.set_x(paper.l_margin + 3)
        paper.multi_cell(paper.epw - 6, 4, paper.fit(fact), align="L", new_x="LMARGIN", new_y="NEXT")
    tall = paper.get_y() - top + 2
    paper.set_draw_color(*rgb(words))
    paper.set_line_width(0.3)
    paper.rect(paper.l_margin, top, paper.epw, tall)
    paper.set_fill_color(*rgb(words))
    paper.rect(paper.l_margin, top, 1.6, tall, style="F")
    paper.set_draw_color(0)
    paper.ln(4)
    paper.words(say(SAFETY), size=7.5, style="I")
    paper.heading(say("Open points"), room_mm=20)
    paper.bullets(tuple(say(each) for each in record.open_points[:_MOST_POINTS] or ("none",)))
    if len(record.open_points) > _MOST_POINTS:
        paper.words(say(f"... and {len(record.open_points) - _MOST_POINTS} more in the attached record.json"))


_MOST_POINTS = 40


def _block(paper: Paper, block: Block, record: JointRecord, *, level: int = 0) -> None:
    block = paper.texts.block(block)
    paper.heading(block.title, level=level, room_mm=30 if not block.group else 105)
    if block.facts:
        paper.facts(block.facts)
    if block.group:
        _pictures(paper, record, block.group)
    if block.rows:
        paper.grid(block.head, block.rows[:MOST_ROWS], widths=block.widths, size=7.5 if level == 0 else 7)
        if len(block.rows) > MOST_ROWS:
            paper.words(paper.say(f"... and {len(block.rows) - MOST_ROWS} more in the attached files"))
    for line in block.lines:
        paper.words(line, size=7.5)


def _pictures(paper: Paper, record: JointRecord, group: str) -> None:
    found = (
        (bolt_picture(record, group, paper.say), 62.0, paper.say(f"The bolts of {group}, each drawn by its state.")),
        (torque_plot(record, group, paper.texts), 114.0, paper.say(plot_words(record, group))),
    )
    drawn = [(svg, wide, words) for svg, wide, words in found if svg is not None]
    if drawn:
        paper.pictures(drawn)


def _calculation(paper: Paper, record: JointRecord, name: str) -> None:
    basis = next((each for each in record.groups if each.name == name), None)
    if basis is not None and basis.reasons:
        paper.heading(paper.say(f"Calculation: {name}"))
        told = [reason_in(_reason(each), paper.texts).line for each in basis.calculation] or basis.reasons
        for number, reason in enumerate(told, start=1):
            paper.words(f"{number}. {record_tables.neat(reason)}", size=7.5)
            paper.ln(0.6)


def _reason(each: Calculated) -> Reason:
    terms = tuple(Term(t.symbol, t.meaning, t.value, t.source) for t in each.terms)
    return Reason(title=each.title, formula=each.formula, terms=terms, result=each.result, source=each.source)


def _signatures(paper: Paper, record: JointRecord) -> None:
    say = paper.say
    by_hand = say("To be filled in by hand: not recorded by the assistant")
    paper.heading(by_hand, room_mm=12 * len(record.not_recorded) + 15)
    rows = [(say(each), "") for each in record.not_recorded]
    paper.grid((say("What"), say("Entry")), rows, widths=(70, 110), least_mm=8)
    paper.heading(say("Signatures"), room_mm=60)
    review = record.review
    hands = record_tables.tightened_by(record)
    lead = ""
    if review is not None and review.signed_by:
        key = f", key {review.seal.key}" if review.seal is not None and review.seal.fits else ", SEAL DOES NOT FIT"
        lead = f"{review.signed_by}; signed electronically {record_tables.when(review.signed_utc)}{key}"
    rows3 = [
        (say("Tightened by"), say(hands), "", ""),
        (say("Reviewed by (lead)"), say(lead), "", ""),
        (say("Accepted by (owner or inspector)"), "", "", ""),
    ]
    paper.grid(
        tuple(say(each) for each in ("Role", "Name", "Date", "Signature")), rows3, widths=(42, 62, 26, 50), least_mm=14
    )


def _attach(paper: Paper, record: JointRecord) -> None:
    files = (
        ("record.json", record.model_dump_json(indent=1).encode(), "application/json", "The record as data"),
        ("record.csv", record_csv(record).encode("utf-8-sig"), "text/csv", "The record as a table"),
    )
    for name, content, kind, words in files:
        paper.embed_file(
            bytes=content,
            basename=name,
            mime_type=kind,
            desc=paper.say(words),
            creation_date=paper.made,
            modification_date=paper.made,
            associated_file_relationship="Data",
            compress=True,
        )
