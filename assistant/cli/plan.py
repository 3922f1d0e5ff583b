"""`assistant plan`: check a joint file, print its plan with reasons, or export the sheet."""

from __future__ import annotations

import argparse
import json
import sys
from datetime import date
from pathlib import Path

from rich.console import Console

from assistant.bolting.planning.plan import plan_document
from assistant.cli.files import write
from assistant.cli.joint_work import work_at
from assistant.config.joint_file import joint_schema, read_plan
from assistant.config.procedure_file import procedure_schema
from assistant.config.settings import read_settings
from assistant.errors import BadSettings
from assistant.journal.clock import utc_now
from assistant.report.plan_text import plan_text, print_plan
from assistant.report.procedure_text import procedure_document, procedure_text
from assistant.report.wording import words_in
from assistant.speech.wording import LANGUAGES

DESCRIPTION = "Check a joint file and print order, passes, targets, wrench settings and reasons."
EPILOG = """\
Checks the file and explains every error with field, value and what is allowed; refuses figures that
would do harm (stress, wrench range, calibration, gasket). Then prints order, passes, targets,
wrench settings, accepted windows, each figure's reason with formula, inputs and source, and the
steps of the procedure, phase by phase.

examples:
  assistant plan demo_joints/north-sluice-dn150-flange.toml
  assistant plan demo_joints/north-sluice-dn150-flange.toml --html plan.html --pdf plan.pdf
  assistant plan --schema > joint.schema.json
  assistant plan --procedure-schema > procedure.schema.json

A remark of grade stop has a name. The lead settles it before the first bolt: by voice in `guide`, or beforehand in the
joint file, where [[releases]] names the stop, by whom and the reason.

exit codes: 0 done, 1 a stop stands that nobody has released, 2 bad input
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("joint", metavar="JOINT", nargs="?", type=Path, help="a joint file (TOML)")
    parser.add_argument("--json", action="store_true", help="print the plan as one JSON document")
    parser.add_argument("--schema", action="store_true", help="print the JSON schema of a joint file")
    parser.add_argument("--procedure-schema", action="store_true", help="print the JSON schema of a procedure file")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write the sheet as one HTML page")
    parser.add_argument("--pdf", metavar="FILE", type=Path, help="write the sheet as PDF")
    parser.add_argument(
        "--date", metavar="YYYY-MM-DD", type=_day, help="day of the job, for calibrations (left out: today)"
    )
    parser.add_argument("--language", choices=LANGUAGES, help="of plan and procedure (left out: as in the settings)")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print or write the plan.

    Returns:
        0, or 1 while the plan holds a stop that nobody has released. Bad files and settings are raised.
    """
    if args.schema or args.procedure_schema:
        print(json.dumps(joint_schema() if args.schema else procedure_schema(), indent=2))
        return 0
    if args.joint is None:
        raise BadSettings("plan: no joint file named", remedy="Name one: assistant plan JOINT, or use --schema.")
    today = args.date or utc_now().astimezone().date()
    made = read_plan(args.joint, today=today)
    language = args.language or read_settings().language
    work, words = work_at(made, near=args.joint.parent, language=language), words_in(language)
    written = []
    if args.html is not None or args.pdf is not None:
        from assistant.report.plan_sheet import plan_html, plan_pdf  # paper costs more than a plan on the terminal
    if args.html is not None:
        written.append(write(args.html, plan_html(made, words).encode("utf-8"), "--html"))
    if args.pdf is not None:
        written.append(write(args.pdf, plan_pdf(made, words), "--pdf"))
    if args.json:
        document = plan_document(made) | {"procedure": procedure_document(work)}
        print(json.dumps(document, indent=2, allow_nan=False))
    elif written:
        print("\n".join(f"written: {path}" for path in written))
    elif sys.stdout.isatty():
        print_plan(made, Console(highlight=False), words)
        print(procedure_text(work), end="")
    else:
        print(plan_text(made, words) + procedure_text(work), end="")
    if made.open_stops and not args.json:
        named = "; ".join(each.name for each in made.open_stops)
        print(f"plan: to be released by the lead before the first bolt: {named}", file=sys.stderr)
    return 1 if made.open_stops else 0


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a day; write it like 2027-03-31") from None
