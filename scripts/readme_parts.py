"""README's dialogue, its sound and its picture, from one rehearsal of the demo flange. Run by scripts/readme.

The rehearsal is made anew, or is the session folder that is named; its sound lies beside it.

The dialogue begins with the first reading of the first pass. The picture shows the glance board at the first reading
out of its window, beside the lead's page of the whole session.
"""

from __future__ import annotations

import io
import re
import subprocess
import sys
import tempfile
import textwrap
from pathlib import Path

import soundfile
from playwright.sync_api import sync_playwright
from rich.console import Console

from assistant.events import PromptSpoken, ReadingAccepted, ReadingOutside, UtteranceHeard
from assistant.journal.reading import Entry, read_session
from assistant.replay.rebuild import rebuild_state
from assistant.replay.transcript import Line, line_of
from assistant.report.board import board, glance
from assistant.report.transcript_text import text_line

ROOT = Path(__file__).resolve().parent.parent
JOINT = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
DOCS = ROOT / ".docs"
LINES, WIDE = 14, 122
MARK = re.compile(r"(<!-- made by scripts/readme -->\n).*?(<!-- end -->)", re.DOTALL)
CHROMIUM = ("/usr/bin/chromium", "/usr/bin/chromium-browser")


def rehearsed(folder: Path) -> Path:
    """A rehearsal of the demo flange; its session folder."""
    command = [
        sys.executable,
        "-m",
        "assistant",
        "rehearse",
        str(JOINT),
        "--fast",
        "--seed",
        "1",
        "--sessions",
        str(folder),
    ]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return next(path for path in folder.iterdir() if path.is_dir())


def talk(entries: list[Entry]) -> list[tuple[Entry, Line]]:
    """The spoken lines from the prompt of the first reading on."""
    first = next(at for at, entry in enumerate(entries) if isinstance(entry.event, ReadingAccepted))
    start = max(at for at in range(first) if isinstance(entries[at].event, PromptSpoken))
    spoken = [(entry, line_of(entry)) for entry in entries[start:]]
    return [(entry, line) for entry, line in spoken if line and line.who in ("assistant", "heard")][:LINES]


def dialogue(lines: list[tuple[Entry, Line]]) -> str:
    """For README: technician and assistant, without what the listeners made of it."""
    shown = []
    for entry, line in lines:
        text = line.text if line.who == "assistant" else said(entry)
        who = "assistant   " if line.who == "assistant" else "technician  "
        shown.append(textwrap.fill(who + text, WIDE, subsequent_indent=" " * len(who)))
    return "\n".join(shown)


def said(entry: Entry) -> str:
    """The technician's words as they were understood."""
    event = entry.event
    assert isinstance(event, UtteranceHeard)
    return event.alternatives[0].text if event.alternatives else "(nothing that fits)"


def excerpt(session: Path, lines: list[tuple[Entry, Line]], file: Path) -> float:
    """Cut the dialogue out of the rehearsal's sound; seconds."""
    samples, rate = soundfile.read(session.with_suffix(".wav"), dtype="int16")
    first, last = lines[0][0].event, lines[-1][0].event
    piece = samples[max(0, first.start_sample - rate // 2) : last.end_sample + rate // 2]  # type: ignore[attr-defined]
    soundfile.write(file, piece, rate, format="OGG", subtype="VORBIS")
    return len(piece) / rate


def picture(session: Path, entries: list[Entry], file: Path) -> None:
    """Board and lead's page side by side."""
    from assistant.cli.replay_html import write_page

    at = next(at for at, entry in enumerate(entries) if isinstance(entry.event, ReadingOutside))
    last = next(line for line in map(line_of, reversed(entries[: at + 1])) if line is not None)
    console = Console(record=True, width=76, height=24, force_terminal=True, file=io.StringIO())
    state = rebuild_state(entry.event for entry in entries[: at + 1])
    console.print(board(glance(state, text_line(last)), width=76, height=24))
    with tempfile.TemporaryDirectory() as name, sync_playwright() as started:
        page_file = Path(name) / "page.html"
        write_page(session, page_file)
        program = next(path for path in CHROMIUM if Path(path).exists())
        browser = started.chromium.launch(executable_path=program, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1000, "height": 1000}, device_scale_factor=1)
        page.goto(page_file.as_uri())
        page.screenshot(path=Path(name) / "page.png")
        drawn = re.sub(r"<circle[^>]*/>", "", console.export_svg(title="assistant guide --board"))  # no window buttons
        (Path(name) / "board.svg").write_text(drawn, encoding="utf-8")
        (Path(name) / "both.html").write_text(
            '<body style="margin:0;display:flex;gap:16px;align-items:center;padding:8px;background:#fff">'
            '<img src="board.svg" style="width:560px">'
            '<img src="page.png" style="width:560px;border:1px solid #999"></body>',
            encoding="utf-8",
        )
        both = browser.new_page(viewport={"width": 1160, "height": 580}, device_scale_factor=1.25)
        both.goto((Path(name) / "both.html").as_uri())
        both.screenshot(path=file, full_page=True)
        browser.close()


def main() -> int:
    with tempfile.TemporaryDirectory() as name:
        session = Path(sys.argv[1]) if len(sys.argv) > 1 else rehearsed(Path(name))
        entries = list(read_session(session).entries)
        lines = talk(entries)
        seconds = excerpt(session, lines, DOCS / "dialogue.ogg")
        picture(session, entries, DOCS / "view.png")
    text = (
        f"Of a rehearsal of the demo flange, a simulated technician 10 dB over a fan "
        f"([hear it](.docs/dialogue.ogg), {seconds:.0f} s):\n\n```text\n{dialogue(lines)}\n```\n"
    )
    readme = ROOT / "README.md"
    readme.write_text(MARK.sub(lambda m: m[1] + text + m[2], readme.read_text(encoding="utf-8")), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
