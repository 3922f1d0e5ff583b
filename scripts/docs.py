#!/usr/bin/env python3
"""Generated parts of the documentation: make them anew, or with --check say which are stale.

A part stands in a Markdown file between the lines `<!-- generated: NAME -->` and `<!-- end -->`; pictures and the page
of the procedures are whole files.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from assistant.archive.tables import TABLES  # noqa: E402
from assistant.bolting.planning.plan import plan  # noqa: E402
from assistant.config.joint_file import read_joint  # noqa: E402
from assistant.config.procedure_file import kinds, usual_procedure  # noqa: E402
from assistant.procedure.table import diagram  # noqa: E402
from assistant.report.bolt_picture import text_picture  # noqa: E402
from assistant.report.bolt_svg import svg_picture  # noqa: E402
from assistant.speech.wording.terms import TERMS  # noqa: E402
from scripts.licences import page as licences  # noqa: E402
from scripts.statechart import statechart  # noqa: E402

DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
DAY = date(2026, 11, 25)


def parts() -> dict[tuple[str, str], str]:
    """(file, name) -> text of each generated part."""
    return {
        ("DEVELOPERS.md", "terms"): terms(),
        (".docs/archive.md", "tables"): tables(),
        (".docs/using.md", "bolt circle"): f"```text\n{bolt_circle(demo_order())[0]}\n```",
    }


def demo_order() -> tuple[int, ...]:
    """Bolts of the demo flange in the order in which they are visited."""
    return plan(read_joint(DEMO, today=DAY), today=DAY).groups[0].order


def bolt_circle(order: Sequence[int]) -> tuple[str, str]:
    """A cross order as text and as SVG."""
    return text_picture("cross", len(order), order=order), svg_picture("cross", len(order), order=order)


def pictures() -> dict[str, str]:
    """File -> text of each generated picture."""
    return {
        ".docs/bolt-circle.svg": bolt_circle(demo_order())[1],
        ".docs/procedures.md": procedures(),
        ".docs/dialogue.md": f"{DIALOGUE_HEAD}\n\n```mermaid\n{diagram().strip()}\n```\n",
        ".docs/licences.md": licences(),
    }


def tables() -> str:
    """The archive's tables with their columns."""
    rows = ["| view | columns |", "|---|---|"]
    for name, columns in TABLES.items():
        listed = ", ".join(f"`{column}` {kind.lower()}" for column, kind in columns.items())
        rows.append(f"| `{name}` | {listed} |")
    return "\n".join(rows)


def terms() -> str:
    """The words of everything that is said."""
    rows = ["| what is meant | English | German | not said |", "|---|---|---|---|"]
    rows += [f"| {t.means} | {t.en} | {t.de} | {', '.join((*t.avoid_en, *t.avoid_de))} |" for t in TERMS]
    return "\n".join(rows)


def procedures() -> str:
    """The page of all kinds' procedures: a statechart each, of the usual procedure file as it stands."""
    parts = [PROCEDURES_HEAD]
    for kind in kinds():
        procedure = usual_procedure(kind)
        file = f"assistant/config/procedures/{kind.replace(' ', '-')}.toml"
        chart = f"```mermaid\n{statechart(procedure)}\n```"
        parts += [f"## {procedure.title}", f'`kind = "{kind}"`, from [{file}](../{file}).', chart]
    return "\n\n".join(parts) + "\n"


DIALOGUE_HEAD = """# The dialogue around one item

Made by `scripts/docs.py` from `assistant/procedure/table.py`; do not edit here. A box is a state, an arrow the
events that lead from one to another. Which item of the work is due is no state of this table: it follows from the
recorded entries alone."""

PROCEDURES_HEAD = """# Procedures of the joint kinds

Made by `scripts/docs.py` from the procedure files; do not edit here.

Each box is a step, each frame a phase. Thick and coloured: a hold point, which only its phrase releases. What is said
stands at the arrow that it opens. After the last round that the joint file allows a competent person is asked for. A
joint file's own hold points and checks take the place of the step of their name, or come last in their phase. Around
every step runs the dialogue drawn in [dialogue.md](dialogue.md)."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 when a part is stale")
    check = parser.parse_args().check
    stale = []
    for (file, name), text in parts().items():
        path = ROOT / file
        old = path.read_text(encoding="utf-8")
        mark = re.compile(rf"(<!-- generated: {re.escape(name)} -->\n).*?(\n<!-- end -->)", re.DOTALL)
        if not mark.search(old):
            raise SystemExit(f"{file}: no place for the generated part {name!r}")
        new = mark.sub(lambda m, text=text: f"{m[1]}{text}{m[2]}", old)
        stale += _settle(path, old, new, check)
    for file, text in pictures().items():
        path = ROOT / file
        stale += _settle(path, path.read_text(encoding="utf-8") if path.exists() else "", text, check)
    for path in stale:
        print(f"stale: {path.relative_to(ROOT)} (scripts/docs.py makes it anew)", file=sys.stderr)
    return 1 if stale and check else 0


def _settle(path: Path, old: str, new: str, check: bool) -> list[Path]:
    if old == new:
        return []
    if not check:
        path.parent.mkdir(exist_ok=True)
        path.write_text(new, encoding="utf-8")
    return [path]


if __name__ == "__main__":
    raise SystemExit(main())
