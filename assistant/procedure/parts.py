"""Parts that fail in mid-joint: a bolt that was replaced, a pass or a gasket that was disturbed. Pure.

The rules (common practice, no source):
- A replaced bolt is brought up alone: snug, then each pass of its group up to the one being worked on; then the pattern
  goes on where it stood. A pass that goes round begins anew with round one: a new bolt loads its neighbours.
- A disturbed pass is done over from its first bolt, and with it whatever was done after it.
- A disturbed gasket is not used again: everything from the first step of assembly on is done over.

Each is asked first ('Did you say ...?'), whatever was heard how surely: it takes entries back.
"""

from __future__ import annotations

from assistant.events import BoltReplaced, Event, OtherBoltNamed, Pass, PassesRestarted, ReadingDoubted, Told
from assistant.procedure.answers import Answer
from assistant.procedure.state import Entry, State

REPLACED, RESTART, GASKET = "replaced", "restart pass", "gasket disturbed"
COMMANDS = frozenset({REPLACED, RESTART, GASKET})


def command(state: State, answer: Answer) -> tuple[Event, ...]:
    """Events for one of COMMANDS: a question first, the change when it was confirmed."""
    name = answer.heard.command
    found = {REPLACED: _replaced, RESTART: _restarted, GASKET: _gasket}[str(name)](state, answer)
    if isinstance(found, BoltReplaced | PassesRestarted) and not answer.confirmed_by:
        return (ReadingDoubted(bolt=answer.heard.bolt, heard=answer.heard, other=None, utterance=answer.utterance),)
    return (found,)


def _replaced(state: State, answer: Answer) -> Event:
    due, bolt = state.current_pass, answer.heard.bolt
    if due is None:
        return Told(what="not-now", utterance=answer.utterance)
    if bolt is None:
        return Told(what="which-bolt", utterance=answer.utterance)
    if bolt not in due.bolts:
        return OtherBoltNamed(announced=state.bolt, named=bolt, utterance=answer.utterance)
    own = [n for n, item in enumerate(state.stages, start=1) if isinstance(item, Pass) and item.group == due.group]
    return BoltReplaced(
        stage=own[0],
        group=due.group,
        bolt=bolt,
        taken_back=tuple(e.number for e in state.entries if e.valid and _of_the_old_bolt(state, e, own, bolt)),
        utterance=answer.utterance,
    )


def _of_the_old_bolt(state: State, entry: Entry, own: list[int], bolt: int) -> bool:
    """Its entries in all passes; of a pass that goes round all entries, if it is the one being worked on."""
    item = state.stages[entry.stage - 1]
    if entry.stage not in own or not isinstance(item, Pass):
        return False
    return entry.bolt == bolt or (item.goes_round and entry.stage == state.stage)


def _restarted(state: State, answer: Answer) -> Event:
    if state.current_pass is None:
        return Told(what="not-now", utterance=answer.utterance)
    return _over_again(state, state.stage, "pass", answer)


def _gasket(state: State, answer: Answer) -> Event:
    phases = [item.phase for item in state.stages]
    if state.current_pass is None:
        return Told(what="not-now", utterance=answer.utterance)
    first = next(n for n, item in enumerate(state.stages, start=1) if isinstance(item, Pass))
    return _over_again(state, phases.index("assemble") + 1 if "assemble" in phases else first, "gasket", answer)


def _over_again(state: State, stage: int, reason: str, answer: Answer) -> PassesRestarted:
    # later stages have entries too while a replaced bolt is brought up: they rest on what is done over
    gone = tuple(e.number for e in state.entries if e.valid and stage <= e.stage)
    return PassesRestarted(stage=stage, reason=reason, taken_back=gone, utterance=answer.utterance)
