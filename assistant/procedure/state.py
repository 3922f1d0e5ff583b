"""Where a session stands: a fold of its events, and what follows from it. Pure and frozen."""

from __future__ import annotations

from dataclasses import dataclass, field

from assistant.events import Alternative, Measured, Pass, Question, WorkLaidOut

NO_WORK = WorkLaidOut(joint="", before=(), passes=(), after=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One recorded answer; `valid` turns false when it is taken back, the entry itself stays.

    Args:
        number: 1.. in the order of recording.
        stage: 1.., counted through `before + passes + after` of the work.
        round: 1.. of a circular pass, else 1.
        bolt: None for a question.
        kind: the kind of the event that recorded it ("reading-accepted", "bolt-held" ...).
        reading: the achieved torque as said, on the wrench's scale, where there is one.
    """

    number: int
    stage: int
    round: int
    bolt: int | None
    kind: str
    reading: Measured | None
    utterance: str
    valid: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Pending:
    """What a question is about: the reading or command that was not sure, or is out of the window."""

    heard: Alternative
    other: Alternative | None
    utterance: str
    reason: str = ""  # '' | low | high


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One session at one moment.

    Args:
        dialogue: state of `procedure.table`.
        stage: 1.., the stage being worked on; past the last one when all is done.
        round: round of the current stage.
        ahead: bolts taken up out of turn (stepped back to), first is the current one.
        deferred: bolts of the current pass left for its end (skipped with a reason).
        misses: failures to understand in a row.
        figures: the value is to be spoken figure by figure.
        choices: the numbered choices on offer; choices_from: the utterance that they were heard in.
        half: a yes or a choice that was not sure enough alone.
        purpose: why a reason is asked for: "skip", "keep" or "".
        last_prompt: what was said last, for 'say again'.
        announced: stage and round of the last announcement, so that a pass is introduced once.
        skipped: (stage, bolt, reason) of every skip, in order.
    """

    dialogue: str = "opening"
    work: WorkLaidOut = NO_WORK
    stage: int = 1
    round: int = 1
    entries: tuple[Entry, ...] = ()
    ahead: tuple[int, ...] = ()
    deferred: tuple[int, ...] = ()
    pending: Pending | None = None
    choices: tuple[Alternative, ...] = ()
    choices_from: str = ""
    half: Alternative | None = None
    purpose: str = ""
    misses: int = 0
    last_prompt: str = ""
    skipped: tuple[tuple[int, int, str], ...] = field(default=())
    announced: tuple[int, int] = (0, 0)
    notes: int = 0
    closed: bool = False

    # ------------------------------------------------------------------------------------- what follows from it
    @property
    def stages(self) -> tuple[Question | Pass, ...]:
        """All stages in order."""
        return (*self.work.before, *self.work.passes, *self.work.after)

    @property
    def item(self) -> Question | Pass | None:
        """The stage being worked on; None when all is done."""
        return self.stages[self.stage - 1] if self.stage <= len(self.stages) else None

    @property
    def current_pass(self) -> Pass | None:
        """The pass being worked on, or None while a question is due."""
        return self.item if isinstance(self.item, Pass) else None

    @property
    def question(self) -> Question | None:
        """The question being asked, or None while a pass is worked on."""
        return self.item if isinstance(self.item, Question) else None

    def done(self, stage: int, round_number: int) -> frozenset[int | None]:
        """Bolts (None for a question) that have a valid entry that finishes them in this stage and round."""
        finishing = {"bolt-held", "bolt-moved"} if self._circular(stage) else None
        return frozenset(
            e.bolt
            for e in self.entries
            if e.valid and e.stage == stage and e.round == round_number and (finishing is None or e.kind in finishing)
        )

    def _circular(self, stage: int) -> bool:
        item = self.stages[stage - 1]
        return isinstance(item, Pass) and item.kind == "circular"

    @property
    def open_bolts(self) -> tuple[int, ...]:
        """Bolts still to do in this pass and round, in the order they will be announced."""
        item = self.current_pass
        if item is None:
            return ()
        done = self.done(self.stage, self.round)
        rest = [b for b in item.bolts if b not in done and b not in self.ahead]
        return (*self.ahead, *(b for b in rest if b not in self.deferred), *(b for b in rest if b in self.deferred))

    @property
    def bolt(self) -> int | None:
        """The bolt that is due, or None."""
        return self.open_bolts[0] if self.open_bolts else None

    @property
    def last_entry(self) -> Entry | None:
        """The last entry that still counts: what a correction takes back."""
        return next((e for e in reversed(self.entries) if e.valid), None)

    def entry_of(self, bolt: int | None) -> Entry | None:
        """The valid entry of this bolt in the current stage and round, the last one if there are several."""
        return next(
            (
                e
                for e in reversed(self.entries)
                if e.valid and e.bolt == bolt and e.stage == self.stage and e.round == self.round
            ),
            None,
        )

    @property
    def moved_in_round(self) -> bool:
        """A nut moved in the current round of a circular pass."""
        return any(
            e.valid and e.kind == "bolt-moved" and e.stage == self.stage and e.round == self.round for e in self.entries
        )

    @property
    def movement_due(self) -> bool:
        """Circular pass: the reading of the current bolt is recorded, whether its nut moved is not."""
        item = self.current_pass
        return item is not None and item.kind == "circular" and self.entry_of(self.bolt) is not None

    @property
    def finished(self) -> bool:
        """Every stage is done."""
        return self.item is None
