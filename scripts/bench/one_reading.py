"""Random dialogues: `scripts/bench/one_reading [COUNT]` holds every surface of each against the state that guided it.

State, record, page, table, text and verdict must agree in every field (`tests/replay/agreement.py`); 10 000 dialogues
unless told. The first ones that differ are printed with their seed, and the status is 1.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections import Counter
from collections.abc import Sequence

from tests.replay.agreement import check_agreement

MOST_SHOWN = 5


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(prog="one_reading", description=__doc__)
    p.add_argument("count", type=int, nargs="?", default=10_000)
    p.add_argument("--first", type=int, default=0, help="the first seed")
    p.add_argument("--pages", type=int, default=20, help="every so many dialogues the page is rendered too")
    a = p.parse_args(arguments)
    found, differ, begin = Counter[str](), 0, time.process_time()
    for seed in range(a.first, a.first + a.count):
        try:
            found[check_agreement(seed, page=seed % a.pages == 0)] += 1
        except Exception as error:  # whatever it is, it is what is looked for
            differ += 1
            if differ <= MOST_SHOWN:
                at = traceback.extract_tb(error.__traceback__)[-1]
                print(f"seed {seed}: {error!r:.300} at {at.filename}:{at.lineno}: {at.line}", file=sys.stderr)
    told = ", ".join(f"{n} {token}" for token, n in found.most_common())
    print(f"{a.count} dialogues in {time.process_time() - begin:.0f} s of CPU, {differ} differ; verdicts: {told}")
    raise SystemExit(1 if differ else 0)


if __name__ == "__main__":
    main()
