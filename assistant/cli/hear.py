"""`assistant hear`: what is understood in recordings."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from assistant.bolting import units
from assistant.bolting.planning.plan import plan
from assistant.bolting.unit_kinds import TORQUE_UNITS
from assistant.cli import house
from assistant.cli.joint_work import work_at
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.settings import read_settings
from assistant.devices.audio_file import read_audio
from assistant.devices.voice_activity import SileroActivity
from assistant.errors import BadAudio, BadQuantity
from assistant.events import Measured, Pass
from assistant.procedure.acceptance import in_unit
from assistant.session.recordings import document, understand
from assistant.speech.grammar import Grammar
from assistant.speech.vocabulary import Expecting, everything, grammar_for

DESCRIPTION = "Say what is understood in recordings."
EPILOG = """\
WAV, FLAC and OGG of any rate and channel count. Without a joint every value and command is understood; with one, its
hold-point phrases and answers too. 'accept' would be recorded, 'ask' would be read back as a question, 'reject' would
be left unanswered.

--due, --low and --high say which setting is due and which window of readings is accepted for it, on the wrench's scale:
"170 N*m", or 170 for newton metres. Each utterance then shows what a bolt that is due would make of it: the probability
p of the likeliest figure inside, that of any figure inside, by how much the odds for the window were lifted, and the
decision: 'accept', 'ask', 'outside' (surely heard, outside the window), 'impossible' (twice or half of it, another
unit) or 'reject'.

examples:
  assistant hear reading.wav
  assistant hear *.flac --joint demo_joints/north-sluice-dn150-flange.toml --json
  assistant hear reading.wav --due 170 --low 162 --high 179

exit codes: 0 done, 2 a file is no sound (the others are still read), 3 no listener is there
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path, help="a sound file")
    parser.add_argument("--joint", metavar="JOINT", type=Path, help="a joint file (TOML)")
    parser.add_argument("--due", metavar="VALUE", help='setting that is due, as "170 N*m"; with --low and --high')
    parser.add_argument("--low", metavar="VALUE", help="lowest reading that is accepted")
    parser.add_argument("--high", metavar="VALUE", help="highest reading that is accepted")
    parser.add_argument("--json", action="store_true", help="print one JSON document: a list, one object a file")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Read each file.

    Returns:
        0, or 2 when a file could not be read.
    """
    due = _due(args.due, args.low, args.high)
    grammar = _grammar(args.joint)
    documents: list[dict[str, Any]] = []
    status = 0
    with contextlib.closing(house.Parts(read_settings())) as parts:
        hearing, activity = parts.hearing(), SileroActivity()
        for line in parts.start_lines():
            print(line, file=sys.stderr)
        for file in args.files:
            try:
                recording = read_audio(file)
            except BadAudio as error:
                status = error.exit_status
                print(f"{error.message}\n  {error.remedy}", file=sys.stderr)
                told = {"code": error.code, "message": error.message, "remedy": error.remedy}
                documents.append({"file": str(file), "seconds": None, "utterances": [], "error": told})
                continue
            found = understand(recording.samples, hearing=hearing, activity=activity, grammar=grammar)
            documents.append(document(str(file), recording.samples, found, due=due))
            if not args.json:
                _show(documents[-1])
    if args.json:
        print(json.dumps(documents, indent=2, ensure_ascii=False))
    return status


def _due(due: str | None, low: str | None, high: str | None) -> Pass | None:
    """The window as a pass; None where none is given.

    Raises:
        BadQuantity: one of the three is missing or no torque, or the setting lies outside its own window.
    """
    if due is None and low is None and high is None:
        return None
    if due is None or low is None or high is None:
        raise BadQuantity(
            "--due, --low and --high belong together; one is missing",
            remedy="Give all three, as: --due 170 --low 162 --high 179.",
        )
    setting = _torque(due, "--due", "N*m")
    lowest, highest = _torque(low, "--low", setting.unit), _torque(high, "--high", setting.unit)
    figures = [in_unit(each, setting.unit) for each in (lowest, setting, highest)]
    if figures != sorted(figures) or figures[1] <= 0:
        raise BadQuantity(
            f"--low {low}, --due {due}, --high {high}: they do not rise",
            remedy="Give a setting above nought between the lowest and the highest reading that are accepted.",
        )
    window = [Measured(Decimal(f"{figure:.6f}").normalize(), setting.unit) for figure in (figures[0], figures[2])]
    return Pass(group="", kind="pattern", number=1, bolts=(1,), setting=setting, low=window[0], high=window[1])


def _torque(text: str, field: str, unit: str) -> Measured:
    """A torque with its unit, or a plain number in `unit`."""
    with contextlib.suppress(InvalidOperation):
        number = Decimal(text)
        if not number.is_finite():
            raise BadQuantity(f"{field} is {text}", remedy="Give a finite torque, as 170 or '170 N*m'.")
        return Measured(number, unit)
    given = units.quantity(text, "torque", field=field)
    said = text.split()[-1]
    own = said if said in TORQUE_UNITS else unit
    return Measured(Decimal(f"{units.magnitude(given, own, name=field):.6f}").normalize(), own)


def _grammar(joint: Path | None) -> Grammar:
    if joint is None:
        return everything()
    parsed = parse_joint(read_bytes(joint), source=str(joint))
    work = work_at(plan(parsed, today=date.min), near=joint.parent)
    phrases = tuple(dict.fromkeys(p for q in work.questions for p in (q.phrase, *q.refused)))
    return grammar_for(Expecting(values=True, yes_no=True, phrases=phrases))


def _show(told: dict[str, Any]) -> None:
    print(f"{told['file']}  {told['seconds']:.1f} s" + ("" if told["utterances"] else "  no speech"))
    for each in told["utterances"]:
        others = ", ".join(f"{a['text']} {a['probability']:.3f}" for a in each["alternatives"][1:3])
        meaning = _meaning(each)
        print(
            f"  {each['start_s']:6.2f}-{each['end_s']:.2f}  {each['decision']:6}  {meaning}"
            f"  [{each['probability']:.3f}{'; also ' + others if others else ''}]"
        )
        if "context" in each:
            c = each["context"]
            weighed = f"p {c['p']:.3f}, inside {c['inside']:.3f}, lift {c['lift']:g}"
            print(f"{'':15}  {c['decision']:6}  with the window due: {weighed}")


def _meaning(each: dict[str, Any]) -> str:
    if each["kind"] == "none":
        return f"nothing that fits ({each['free_text']!r})"
    if each["value"] is not None:
        bolt = f"bolt {each['bolt']}: " if each["bolt"] is not None else ""
        return f"{bolt}{each['value']:g} {each['unit'] or '(unit not said)'}"
    return f"{each['command'] or each['kind']}" + (f", bolt {each['bolt']}" if each["bolt"] is not None else "")
