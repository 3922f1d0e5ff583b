"""The record as PDF: archival, whole, the same each time; read back with poppler where it is there."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
import zlib
from datetime import datetime, timezone
from pathlib import Path

import pytest

from assistant.replay.record_fields import JointRecord
from assistant.replay.record_work import Happening
from assistant.report.look import LIGHT
from assistant.report.record_csv import record_csv
from assistant.report.record_groups import entry_blocks, group_blocks, group_names
from assistant.report.record_pdf import record_pdf
from assistant.report.record_plot import bolt_picture, plot_words, torque_plot
from assistant.report.record_tables import headline, trust
from assistant.report.record_text import record_text
from tests.replay.telling import record_of

HOSTILE = "<script>alert(1)</script> \x1b[2J \u202egood \U0001f980 \ud7ff 漢字 )Tj (x) Tj \\) endstream endobj %%EOF"


NOW = datetime(2026, 11, 25, 12, tzinfo=timezone.utc)


def streams(pdf: bytes) -> list[bytes]:
    found = []
    for raw in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            found.append(zlib.decompress(raw))
        except zlib.error:
            found.append(raw)
    return found


def test_no_order_of_a_set_reaches_the_paper(done_session, tmp_path):
    """Another process puts sets in another order: the same record gives the same bytes there too."""
    record = tmp_path / "record.json"
    record.write_text(record_of(done_session).model_dump_json(), "utf-8")
    program = (
        "import hashlib, sys; from pathlib import Path; from assistant.replay.record_fields import JointRecord; "
        "from assistant.report.record_pdf import record_pdf; "
        "made = record_pdf(JointRecord.model_validate_json(Path(sys.argv[1]).read_bytes())); "
        "print(hashlib.sha256(made).hexdigest())"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", program, str(record)],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).resolve().parents[2])},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(found) == 1 and len(found.pop().strip()) == 64


def test_the_same_record_gives_the_same_bytes(done_session):
    record = record_of(done_session)
    assert record_pdf(record) == record_pdf(record)


def test_it_is_archival_with_fonts_inside_outline_language_and_tags(done_session):
    pdf = record_pdf(record_of(done_session))
    assert pdf.startswith(b"%PDF-1.7")
    assert b"<pdfaid:part>3</pdfaid:part><pdfaid:conformance>U</pdfaid:conformance>" in pdf
    assert b"/OutputIntents" in pdf and b"/Outlines" in pdf and b"/StructTreeRoot" in pdf and b"/MarkInfo" in pdf
    assert b"/Lang (en)" in pdf
    fonts = re.findall(rb"/BaseFont /([A-Za-z0-9+-]+)", pdf)
    assert fonts and all(b"DejaVuSansCondensed" in name for name in fonts)
    assert pdf.count(b"/FontFile2") == 3 and b"/Helvetica" not in pdf
    assert not re.search(rb"/(JavaScript|JS|Launch|URI|SubmitForm)\b", pdf)


def test_the_data_is_attached_and_is_the_record(done_session):
    record = record_of(done_session)
    content = streams(record_pdf(record))
    (attached,) = [s for s in content if s.startswith(b'{\n "format": "joint record 2"')]
    assert JointRecord.model_validate_json(attached) == record
    (table,) = [s for s in content if s.startswith("\ufeffJoint,Tag".encode())]
    assert table == record_csv(record).encode("utf-8-sig")
    assert len(list(csv.reader(io.StringIO(table.decode("utf-8-sig"))))) > 48


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not here")
def test_a_reader_finds_every_bolt_tool_hold_point_and_hash(demo_sessions, repairs_session, tmp_path):
    for folder in (*demo_sessions.values(), repairs_session):
        record = record_of(folder)
        (tmp_path / "r.pdf").write_bytes(record_pdf(record))
        text = subprocess.run(
            ["pdftotext", "-layout", tmp_path / "r.pdf", "-"], capture_output=True, text=True, check=True
        ).stdout
        flat = " ".join(text.split())
        for wanted in (
            record.joint.name,
            record.joint.instruction,
            "COMPLETE" if record.complete else "NOT COMPLETE",
            record.session.last_line_sha256,
            *(t.serial.split()[0] for t in record.tools),
            *(g.name for g in record.groups),
            "Signatures",
            "Every entry, pass by pass",
        ):
            assert wanted in flat, wanted
        for block in entry_blocks(record):
            assert all(row[4] == "-" or row[4] in text for row in block.rows)
        assert "\N{REPLACEMENT CHARACTER}" not in text


def test_hostile_and_endless_text_is_shown_harmlessly(repairs_session):
    record = record_of(repairs_session)
    long = Happening(line=1, utc=NOW, kind="note", text="wide" * 900 + " word" * 2000)
    bad = Happening(line=2, utc=NOW, kind="note", text=HOSTILE)
    joint = record.joint.model_copy(update={"name": HOSTILE, "place": HOSTILE * 40})
    record = record.model_copy(update={"notes": (long, bad), "joint": joint, "open_points": (HOSTILE,) * 300})
    pdf = record_pdf(record)
    assert pdf.count(b"%%EOF") == 1 and pdf.rstrip().endswith(b"%%EOF")
    assert "\x1b" not in record_text(record) and "\u202e" not in record_text(record)


def test_pictures_show_states_readings_and_bands_and_are_sound_xml(demo_sessions, repairs_session):
    for folder in (*demo_sessions.values(), repairs_session):
        record = record_of(folder)
        for group in group_names(record):
            for svg in (bolt_picture(record, group), torque_plot(record, group)):
                assert svg is not None
                ET.fromstring(svg)
    record = record_of(repairs_session)
    plot = torque_plot(record, "flange bolts")
    assert "kept outside the window" in plot and ">90<" in plot and plot.count(f"fill='{LIGHT['pale']}'") == 3
    assert "12 readings in 4 passes, 1 outside" in plot_words(record, "flange bolts")
    assert torque_plot(record, "nobody's") is None and bolt_picture(record, "nobody's") is None


def test_a_picture_of_a_finished_group_is_all_done_and_a_kept_one_stands_out(done_session):
    record = record_of(done_session)
    picture = bolt_picture(record, "flange bolts")
    assert picture.count("fill='#3a3a3a'") == 8 + 1  # eight bolts and the legend
    last = record.passes[3]
    kept = last.bolts[0].model_copy(update={"status": "kept outside window"})
    passes = (*record.passes[:3], last.model_copy(update={"bolts": (kept, *last.bolts[1:])}), *record.passes[4:])
    other = bolt_picture(record.model_copy(update={"passes": passes}), "flange bolts")
    assert other.count("fill='#3a3a3a'") == 7 + 1 and "out of window" in other


def test_the_answer_comes_first_and_says_what_it_rests_on(done_session, repairs_session):
    answer, reason, facts = headline(record_of(done_session))
    assert (
        answer == "COMPLETE"
        and "nothing is left to decide" in reason
        and "as recorded" in facts[0]
        and "24 readings spoken" in facts[1]
    )
    answer, reason, facts = headline(record_of(repairs_session))
    assert (
        answer == "NOT FINISHED"
        and "Next is bolt" in reason
        and "1 kept outside the window" in facts[1]
        and facts[2] == "Not reviewed."
    )
    damaged = record_of(done_session)
    damaged = damaged.model_copy(update={"verification": damaged.verification.model_copy(update={"good": False})})
    assert "NOT as recorded" in headline(damaged)[2][0]
    assert dict(trust(damaged)[0].facts)["Verification"] == "NOT as recorded"


def test_tables_of_a_group_mark_what_was_out_of_the_ordinary(repairs_session):
    basis, table = group_blocks(record_of(repairs_session), "flange bolts")
    assert dict(basis.facts)["Threads"] == "anti-seize" and "310 N·m, published for dry" in dict(basis.facts)["Target"]
    cells = {row[0]: row for row in table.rows}
    assert cells["3"][2:4] == ("53 ca", "90 k") and cells["5"][2] == "38 lbf·ft a" and cells["7"][2] == "52 as"
    assert set(cells["8"][3:]) == {"open"}
