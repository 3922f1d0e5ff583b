"""Which figure was taken for which: numbers said and heard, aligned figure by figure, counted, printed as a table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

NOTHING = "-"  # a figure that was lost, or one that was not said
POINT = "."
MARKS = (*"0123456789", POINT, NOTHING)


def aligned(said: str, heard: str) -> list[tuple[str, str]]:
    """Pairs of figures by the fewest changes, losses and additions: '310', '30' -> (3, 3), (1, -), (0, 0)."""
    cost = [[i + j for j in range(len(heard) + 1)] for i in range(len(said) + 1)]
    for i, a in enumerate(said, 1):
        for j, b in enumerate(heard, 1):
            cost[i][j] = min(cost[i - 1][j - 1] + (a != b), cost[i - 1][j] + 1, cost[i][j - 1] + 1)
    pairs: list[tuple[str, str]] = []
    i, j = len(said), len(heard)
    while i or j:
        if i and j and cost[i][j] == cost[i - 1][j - 1] + (said[i - 1] != heard[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((said[i], heard[j]))
        elif i and cost[i][j] == cost[i - 1][j] + 1:
            i -= 1
            pairs.append((said[i], NOTHING))
        else:
            j -= 1
            pairs.append((NOTHING, heard[j]))
    return pairs[::-1]


def counted(numbers: Iterable[tuple[str, str]]) -> Counter[tuple[str, str]]:
    """(said, heard) figures of all pairs of numbers."""
    return Counter(pair for said, heard in numbers for pair in aligned(said, heard))


def table(counts: Mapping[tuple[str, str], int]) -> str:
    """Rows: said; columns: heard; '-' is nothing. The diagonal is what was heard right; a dot is none."""
    marks = [m for m in MARKS if any(m in pair for pair in counts)]
    rows = (f"{said:>12} " + "".join(f"{counts.get((said, heard), 0) or '.':>6}" for heard in marks) for said in marks)
    return "\n".join(["said \\ heard " + "".join(f"{m:>6}" for m in marks), *rows])
