"""Single words that carry safety, by many people: what becomes of each, above all of a no that is taken for a yes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scripts.bench import people
from scripts.bench.judging import Outcome, snr_name

SAFETY = ("no", "yes", "stop")


def words(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Print and return it, by word and SNR, with intervals over people."""
    print("\nSingle words by people, %: accepted right, asked right, asked other, rejected, WRONG accepted (as)")
    told: dict[str, Any] = {}
    for word in SAFETY:
        own = [o for o in outcomes if o.mix.spoken and o.mix.spoken.group == "words" and o.mix.spoken.text == word]
        for snr in sorted({o.mix.snr_db for o in own}, reverse=True):
            cell = [o for o in own if o.mix.snr_db == snr]
            n, wrong = len(cell), [o for o in cell if o.wrong_accepted]
            understood = people.share(
                [o.right and o.decision != "reject" for o in cell], [o.mix.spoken.speaker for o in cell if o.mix.spoken]
            )
            counts = (
                sum(o.right and o.decision == "accept" for o in cell),
                sum(o.right and o.decision == "ask" for o in cell),
                sum(not o.right and o.decision == "ask" for o in cell),
                sum(o.decision == "reject" for o in cell),
                len(wrong),
            )
            told[f"{word} {snr_name(snr)}"] = {"n": n, "counts": counts, "understood": vars(understood)}
            shares = " ".join(f"{100 * k / n:6.1f}" for k in counts)
            names = ", ".join(getattr(o.heard, "name", str(o.heard)) for o in wrong)
            print(f"  {word:5} {snr_name(snr):>6} n {n:4} {shares}  understood or asked {understood}  {names}")
        opposite = {"no": "yes", "yes": "no"}.get(word)
        taken = sum(o.wrong_accepted and getattr(o.heard, "name", "") == opposite for o in own)
        if opposite:
            print(f"  {word} taken for {opposite}: {taken} of {len(own)} presentations")
            told[f"{word} taken for {opposite}"] = [taken, len(own)]
    return told
