"""Random lines through the parser: `scripts/bench/fuzz [COUNT]` says how many were understood (a million unless told).
The first one that raises is printed and ends it with status 1.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence

from assistant.speech.grammar import Grammar
from assistant.speech.vocabulary import everything

ODD_WORDS = (*"0123456789", "310", "5.5", "Nm", "ft-lb", ",", ".", "-", "note", "zzz")
MARKS = "abcno 0123456789.,-+/±*·'’\t\n½²३٣éÀ\u2028\x00\ud800😀"


def lines(grammar: Grammar, count: int, *, seed: int) -> Iterator[str]:
    """So many lines, by turns of the grammar's own words in any order and of any marks; a seed gives them again."""
    r = random.Random(seed)
    words = [*sorted(grammar.vocabulary()), *ODD_WORDS]
    for n in range(count):
        if n % 2:
            yield " ".join(r.choices(words, k=r.randint(0, 8)))
        else:
            yield "".join(r.choices(MARKS, k=r.randint(0, 30)))


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(prog="fuzz", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("count", type=int, nargs="?", default=1_000_000)
    p.add_argument("--seed", type=int, default=1)
    a = p.parse_args(arguments)
    grammar, found, begin = everything(), Counter[str](), time.monotonic()
    for line in lines(grammar, a.count, seed=a.seed):
        try:
            meaning = grammar.parse(line)
        except Exception as error:  # whatever it is, it is what is looked for
            print(f"{line!r}: {error!r}", file=sys.stderr)
            raise SystemExit(1) from error
        found["nothing" if meaning is None else type(meaning).__name__] += 1
    told = ", ".join(f"{n} {kind}" for kind, n in found.most_common())
    print(f"{a.count} lines in {time.monotonic() - begin:.0f} s, none raised: {told}")


if __name__ == "__main__":
    main()
