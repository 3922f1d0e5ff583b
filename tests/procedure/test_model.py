"""Model check: every state that small joints can reach, every utterance in each, and what must hold at every step.

Failures in a row beyond the count given are not told apart, and rounds beyond the second are not gone on from: bounded,
but exhaustive. On 2026-12-01: 22 works, about 27 000 states and 1.0 million steps, about a minute and a half of CPU.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from assistant.events import WorkLaidOut
from assistant.journal.encoding import EVENT_FORMAT
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from tests.procedure.promises import PROMISES
from tests.procedure.search import Found, key, search
from tests.procedure.small_works import (
    BACK,
    HOT,
    LOCK_OUT,
    REST,
    STOP,
    THREADS,
    Action,
    alphabet,
    snug,
    torqued,
    work,
)

Choose = Callable[[WorkLaidOut], tuple[Action, ...]]


def but(*parts: str, doubts: bool = False, troubled: bool = False) -> Choose:
    """The whole alphabet without the actions in whose name one of these stands."""
    left_out = parts if troubled else (*parts, *TROUBLED)
    return lambda laid_out: tuple(
        a for a in alphabet(laid_out, doubts=doubts) if not any(part in a.name for part in left_out)
    )


TROUBLED = ("trouble", "nonsense", "words: ", "not yet")
"""What is wrong and is said so, and reasons that are none: at a few works."""
NO_FIGURES = ("fifty", "hot", "degF", "inches", "torque")
ASKED_ELSEWHERE = ("doubtful", "unsure", "leave it", "hand over", "skip at", "note at", "bolt 9")
"""Ways of asking that the works with one bolt go through."""
NO_TORQUE = (
    "right",
    "low",
    "corrected",
    "impossible",
    "bolt",
    "two near",
    "second",
    "inches",
    "half",
    "too hot, doubtful",
)
PARTS = ("replaced", "restart", "gasket")
SIMPLE = (*NO_FIGURES, *ASKED_ELSEWHERE, *PARTS, "low", "impossible", "snug", "moved", "bolt 1 right")
ONWARD = ("low", "skip", "back", "impossible", "next", "bolt 1 right", "bolt 2 right", "bolt 1 snug", "bolt 2 snug")
STANDING = ("stop", "note", "pause")


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A work, what may happen at it, and the least number of states that the search must have seen."""

    work: WorkLaidOut
    actions: Choose = alphabet
    probes: tuple[str, ...] = ()
    misses: int = 0
    least: int = 100


CASES = {
    "a hold point with its witness, a check with a refused answer": Case(
        work=work(LOCK_OUT, THREADS), actions=but(*NO_FIGURES, "bolt", "leave", "hand over"), probes=STANDING
    ),
    "a hold point, and what goes wrong": Case(
        work=work(LOCK_OUT),
        actions=but(*NO_FIGURES, "hurt", "leave", "hand over", "doubtful", troubled=True),
        probes=("note", "pause"),
    ),
    "a stop of the plan": Case(
        work=work(STOP), actions=but(*NO_FIGURES, "trouble", "leave", "hand over", troubled=True), probes=STANDING
    ),
    "snug": Case(work=work(snug(1)), actions=but(*NO_FIGURES)),
    "snug, and what goes wrong": Case(
        work=work(snug(1)),
        actions=but(*NO_FIGURES, *PARTS, "broke", "leave", "hand over", troubled=True),
        probes=("note", "pause"),
    ),
    "one bolt, and reasons that are none": Case(
        work=work(torqued(1)),
        actions=but(
            *NO_FIGURES,
            *PARTS,
            "bolt 9",
            "low, doubtful",
            "two near",
            "hand over",
            "leave",
            "corrected",
            "trouble",
            troubled=True,
        ),
        probes=STANDING,
    ),
    "one bolt, every doubt": Case(
        work=work(torqued(1)),
        actions=but(*NO_FIGURES, "bolt 9", "low, doubtful", "two near", "skip", "hand over", doubts=True),
        probes=STANDING,
    ),
    "one bolt, eight failures in a row": Case(
        work=work(torqued(1)),
        actions=but(
            *NO_FIGURES, *PARTS, "skip", "hand over", "leave", "free", "low", "right, doubtful", "keep", doubts=True
        ),
        probes=STANDING,
        misses=8,
    ),
    "three bolts, going back": Case(work=work(torqued(1, 3, 2)), actions=but(*SIMPLE, "skip"), probes=STANDING),
    "two bolts, skipping and going back": Case(
        work=work(torqued(1, 2)), actions=but(*SIMPLE, "corrected"), probes=STANDING
    ),
    "two tools at once": Case(
        work=work(torqued(1, 3, 2, tools=2)),
        actions=but(*SIMPLE, "back to", "skip"),
        probes=STANDING,
    ),
    "all round, one bolt": Case(
        work=work(torqued(1, kind="circular", last_round=1)),
        actions=but(*NO_FIGURES, *ASKED_ELSEWHERE, *PARTS, "low", "skip", "at once", "impossible"),
        probes=STANDING,
    ),
    "all round, two bolts": Case(
        work=work(torqued(1, 2, kind="circular", last_round=1)),
        actions=but(*NO_FIGURES, *ASKED_ELSEWHERE, *PARTS, "low", "skip", "correct", "bolt", "impossible", "back"),
        probes=STANDING,
    ),
    "time": Case(work=work(REST), actions=but(*NO_FIGURES, "bolt", "two near", "second", doubts=True), least=50),
    "a temperature with a name": Case(work=work(REST, HOT), actions=but(*NO_TORQUE, "hand over", "leave", doubts=True)),
    "two groups, tapped until they hold": Case(
        work=work(snug(1), torqued(1), torqued(1, group="b"), torqued(1, kind="seat", last_round=2)),
        actions=but(*NO_FIGURES, *ASKED_ELSEWHERE, "low", "skip"),
    ),
    "replaced bolts": Case(
        work=work(snug(1, 2), torqued(1, 2), torqued(1, kind="circular", number=2)),
        actions=but(*NO_FIGURES, *ASKED_ELSEWHERE, *ONWARD, "gasket", "correct"),
        probes=(*STANDING, "hand over", "leave it open"),
    ),
    "a replaced bolt and corrections": Case(
        work=work(snug(1, 2), torqued(1, 2)),
        actions=but(*NO_FIGURES, *ASKED_ELSEWHERE, *ONWARD, "gasket", "restart", "moved"),
        probes=(*STANDING, "hand over", "leave it open"),
    ),
    "a disturbed gasket": Case(
        work=work(THREADS, snug(1), torqued(1), REST, torqued(1, kind="circular", number=2)),
        actions=but(*NO_FIGURES, *ASKED_ELSEWHERE, *ONWARD, "correct", "half", "same"),
        probes=(*STANDING, "hand over", "leave it open"),
    ),
    "an apprentice at a hold point": Case(
        work=work(replace(LOCK_OUT, lesson=BACK), THREADS, apprentice=True),
        actions=but(*NO_FIGURES, *PARTS, "bolt", "leave", "hand over"),
        probes=STANDING,
    ),
    "an apprentice at three bolts": Case(
        work=work(torqued(1, 3, 2), apprentice=True),
        actions=but(
            *(*NO_FIGURES, *PARTS, "doubtful", "leave", "hand over", "bolt", "correct", "next", "go back", "at once"),
            *("skip", "half", "noise"),
        ),
        probes=STANDING,
    ),
    "an apprentice who has to wait": Case(
        work=work(REST, apprentice=True), least=80, actions=but(*NO_FIGURES, *PARTS, "bolt 9"), probes=STANDING
    ),
}


@pytest.fixture(scope="module", params=CASES, ids=lambda name: name.replace(" ", "-"))
def searched(request: pytest.FixtureRequest) -> tuple[Case, Found]:
    case = CASES[request.param]
    return case, search(
        case.work, case.actions(case.work), checks=PROMISES, probes=case.probes, most_misses=case.misses
    )


def test_every_step_keeps_what_is_promised_and_every_state_has_a_way_to_the_close(searched):
    case, found = searched
    stuck = found.without_a_way(lambda state: state.closed)
    told = (
        f"{len(found.states)} states, {found.steps} steps; stuck: {[(s.dialogue, s.stage, s.left) for s in stuck][:5]}"
    )
    assert not stuck, told
    assert len(found.states) >= case.least, told
    assert any(state.closed for state in found.states.values()), told


def test_the_journal_of_any_way_gives_the_same_state(searched):
    _, found = searched
    places = list(found.states)
    for place in places[:: max(1, len(places) // 40)]:
        kept = [EVENT_FORMAT.decode(*EVENT_FORMAT.encode(event), where="test") for event in found.story(place)]
        again = fold(State(), kept)
        assert key(replace(again, misses=found.states[place].misses)) == place
