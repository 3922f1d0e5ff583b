"""`assistant archive relisten`: today's listeners over all stored sound of the archive, in many processes."""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable
from typing import Any

from assistant.errors import BadSettings
from assistant.report.printable import printable

EPILOG = """\
Each utterance is heard again within the grammar of the state in which it was said. What was recorded stays as it is;
`archive ask relisten` tells what is doubted. Sessions that these models have heard are passed over, so that a stop
costs little; begin again with the same command.

A cluster (--scheduler) is one of Dask's: its workers need this program with its models, and the session folders under
the same paths. It trusts whoever reaches it, so keep it within a network of yours, or use tls://.

examples:
  assistant archive relisten
  assistant archive relisten --scheduler tcp://10.0.0.5:8786

exit codes: 0 nothing recorded is doubted, 1 something is, or a session could not be heard, 2 bad input, 3 a package or
model is missing, 4 the archive cannot be written
"""


def register(acts: argparse._SubParsersAction[argparse.ArgumentParser], run: Callable[..., int]) -> None:
    """Add the act to `assistant archive`.

    Args:
        run: carries it out.
    """
    again = acts.add_parser(
        "relisten",
        help="hear all stored sound again with today's listeners",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    again.add_argument("--workers", type=int, metavar="N", help="processes on this machine (left out: one a core)")
    again.add_argument("--scheduler", metavar="ADDRESS", help="a cluster's scheduler: tcp://HOST:PORT")
    again.add_argument("--archive", metavar="ARCHIVE", help="a folder or a postgresql:// address (left out: your own)")
    again.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    again.set_defaults(run=run)


def hear_archive(args: argparse.Namespace, store: Any) -> int:
    """Hear what the models have not heard yet, and say what is doubted.

    Returns:
        0, or 1 where an entry is surely heard as something else, or a session could not be heard.
    """
    from assistant.archive.relistening import relisten
    from assistant.cli.hear_worker import hear, models_in_use

    workers = args.workers if args.workers is not None else os.cpu_count() or 1
    if workers < 1:
        raise BadSettings(f"--workers is {workers}", remedy="one or more")
    began = time.monotonic()
    done = relisten(store, hear, models_in_use(), workers=workers, scheduler=args.scheduler, told=_progress)
    took = time.monotonic() - began
    if args.json:
        document = {name: getattr(done, name) for name in ("sessions", "utterances", "grave", "sound_s", "spent_s")}
        failed = [{"session": path, "reason": why} for path, why in done.failed]
        print(json.dumps(document | {"took_s": round(took, 1), "failed": failed}, indent=2))
    else:
        cost = f", {done.spent_s / done.sound_s * 60:.0f} minutes of processor an hour of sound" if done.sound_s else ""
        print(
            f"{done.sessions} sessions, {done.utterances} utterances, {done.sound_s / 60:.0f} minutes of sound in "
            f"{took / 60:.1f} minutes{cost}; {done.grave} recorded entries surely heard as something else"
        )
        for path, why in done.failed:
            print(printable(f"not heard: {path}: {why}"))
    return 1 if done.grave or done.failed else 0


def _progress(at: int, of: int) -> None:
    if sys.stderr.isatty():
        print(f"\r\033[Kpart {at} of {of}" + ("\n" if at == of else ""), end="", file=sys.stderr, flush=True)
