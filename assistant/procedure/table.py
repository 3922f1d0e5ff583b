"""The dialogue as a table: which event may happen in which state, and where it leads.

Theory. The *work* (stages: questions, passes, waits, measurements) is data in `WorkLaidOut`; which item is due follows
from the entries alone (`state.State`). This table holds the *dialogue* around one item: the item is announced and
answered (`guiding`), or the answer has to be cleared up first (`asking`, `off-window`, `figures`, `choosing`,
`helper`), or the person speaks freely (`noting`, `reasoning`, `naming`), or time has to pass (`waiting`), or an
apprentice is asked something first (`asked-back`, `explaining`, `supervisor`), or nothing is guided (`paused`,
`stopped`, `closed`).
Every way out of a side state leads back to `guiding`, where the item is announced anew: what was being cleared up is
dropped and never half-recorded. Guards are in `decide`; the table only says what can follow what. An event without a
row is refused, and refused means that nothing changes.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from transitions import Machine
from transitions.extensions import GraphMachine

STATES = (
    "opening",
    "guiding",
    "asking",
    "off-window",
    "figures",
    "choosing",
    "helper",
    "reasoning",
    "noting",
    "naming",
    "waiting",
    "asked-back",
    "explaining",
    "supervisor",
    "paused",
    "stopped",
    "closed",
)
OPEN = (
    *("guiding", "asking", "off-window", "figures", "choosing", "helper", "reasoning", "noting", "naming", "waiting"),
    *("asked-back", "explaining", "supervisor"),
)
"""States in which a stage is being worked on."""
ANSWERING = ("guiding", "asking", "off-window", "figures", "choosing", "helper")
"""States in which a value or an answer to the current item is taken."""


@dataclass(frozen=True, slots=True)
class Row:
    """`event` in any state of `sources` leads to `target`; target None keeps the state."""

    event: str
    sources: tuple[str, ...]
    target: str | None


ROWS = (
    Row("work-laid-out", ("opening",), "guiding"),
    Row("item-announced", ("guiding",), None),
    # answers that are recorded
    Row("question-answered", ANSWERING, "guiding"),
    Row("question-refused", ANSWERING, "guiding"),
    Row("bolt-snugged", ANSWERING, "guiding"),
    Row("reading-accepted", ANSWERING, "guiding"),  # sure and inside the window, or confirmed: read back in passing
    Row("clicked-at-setting", ANSWERING, "guiding"),
    Row("bolt-held", ANSWERING, "guiding"),
    Row("bolt-moved", ANSWERING, "guiding"),
    Row("reading-kept", ("reasoning",), "guiding"),
    Row("measurement-kept", ANSWERING, "guiding"),
    Row("name-kept", ("naming",), "guiding"),
    Row("stage-finished", ("guiding",), None),
    Row("competent-person-asked", ("guiding",), "stopped"),
    # answers that are not
    Row("reading-doubted", ANSWERING, "asking"),  # "ninety five?"
    Row("reading-outside", ANSWERING, "off-window"),
    Row("reading-impossible", ANSWERING, "guiding"),
    Row("measurement-refused", ANSWERING, "guiding"),
    Row("other-bolt-named", ANSWERING, "guiding"),
    # a no: nothing was recorded
    Row("reading-taken-back", ("asking", "off-window", "choosing", "reasoning", "noting", "supervisor"), "guiding"),
    Row("retighten-agreed", ("off-window", "reasoning"), "guiding"),
    Row(
        "confirmation-doubted", ("asking", "choosing", "reasoning", "naming"), None
    ),  # a yes that is not sure: said once more it may be
    Row("not-understood", OPEN, None),
    Row("figures-asked", ANSWERING, "figures"),
    Row("choice-offered", ANSWERING, "choosing"),
    Row("helper-asked", ANSWERING, "helper"),
    # repair and detours
    Row("entry-taken-back", OPEN, "guiding"),
    Row("bolt-replaced", ANSWERING, "guiding"),
    Row("passes-restarted", ANSWERING, "guiding"),
    Row("bolt-taken-up", ANSWERING, None),
    Row("reason-asked", (*ANSWERING, "waiting", "reasoning"), "reasoning"),
    Row("name-asked", ("guiding", "naming"), "naming"),
    Row("name-read-back", ("naming",), None),
    Row("name-taken-back", OPEN, "guiding"),
    Row("bolt-skipped", (*ANSWERING, "reasoning"), "guiding"),
    Row("stepped-back", ANSWERING, "guiding"),
    Row("stepped-on", ANSWERING, "guiding"),
    Row("note-asked", OPEN, "noting"),
    Row("note-kept", OPEN, "guiding"),
    Row("note-kept", ("paused", "stopped"), None),
    Row("told", (*OPEN, "paused", "stopped"), None),
    # time that has to pass
    Row("wait-begun", ("guiding",), "waiting"),
    Row("wait-goes-on", ("guiding", "waiting"), "waiting"),
    Row("wait-over", ("waiting",), "guiding"),
    Row("wait-cut-short", ("reasoning",), "guiding"),
    # what is wrong, and what was done about it
    Row("finding-made", OPEN, "guiding"),
    Row("finding-made", ("paused", "stopped"), None),
    Row("finding-described", ("reasoning",), "guiding"),
    Row("change-told", ("reasoning",), "guiding"),
    Row("finding-settled", ("guiding",), None),
    Row("reason-doubted", ("reasoning",), None),
    Row("stop-released", ("reasoning",), "guiding"),
    # beside an apprentice
    Row("asked-back", ("guiding",), "asked-back"),
    Row("answered-back", ("asked-back",), "guiding"),
    Row("reason-wanted", ("guiding",), "explaining"),
    Row("reason-given", ("explaining",), "guiding"),
    Row("supervisor-asked", (*ANSWERING, "waiting"), "supervisor"),
    Row("supervisor-agreed", ("supervisor",), "guiding"),  # the name comes next, then the reason
    # standing still
    Row("paused", OPEN, "paused"),
    Row("stopped", (*OPEN, "paused"), "stopped"),
    Row("resumed", ("paused", "stopped"), "guiding"),
    Row("session-closed", ("guiding", "asking"), "closed"),
    Row("session-left", (*OPEN, "paused", "stopped"), None),
    Row("session-resumed", (*OPEN, "paused", "stopped"), "guiding"),
)

ANYWHERE = frozenset(
    "session-opened utterance-heard prompt-spoken sound-lost time-left trouble-found speech-adjusted clock-set "
    "off-the-record on-the-record".split()
)
"""Events that belong to the record, not to the dialogue: allowed in every state, change none."""

TRANSITIONS = tuple(
    {"trigger": row.event, "source": source, "dest": row.target or source} for row in ROWS for source in row.sources
)
_MACHINE = Machine(
    model=None,
    states=list(STATES),
    transitions=[dict(t) for t in TRANSITIONS],
    initial="opening",
    auto_transitions=False,
)


@functools.cache  # a long session asks thousands of times for a few hundred answers
def next_state(state: str, event: str) -> str | None:
    """State after `event`, or None when the table has no such row (the event is refused)."""
    if event in ANYWHERE:
        return state
    rows = _MACHINE.get_transitions(trigger=event, source=state)
    return str(rows[0].dest) if rows else None


class _Drawn:
    """A model for drawing; nothing is ever triggered on it."""


def diagram() -> str:
    """The table as a Mermaid state diagram, drawn by `transitions`; events that keep the state are left out."""
    drawn = _Drawn()
    ids = {name: name.replace("-", "_") for name in STATES}  # Mermaid takes no hyphen in an arrow's end
    GraphMachine(
        model=drawn,
        states=list(ids.values()),
        transitions=[
            {**t, "source": ids[t["source"]], "dest": ids[t["dest"]]} for t in TRANSITIONS if t["source"] != t["dest"]
        ],
        initial="opening",
        auto_transitions=False,
        graph_engine="mermaid",
        title="title: One item and the dialogue around it",
    )
    text = str(drawn.get_graph().source)  # type: ignore[attr-defined]
    for name, shown in ids.items():
        text = text.replace(f'state "{shown}"', f'state "{name}"')
    return text
