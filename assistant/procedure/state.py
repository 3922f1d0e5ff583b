"""Where a session stands: a fold of its events, and what follows from it. Pure and frozen."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from assistant.events import (
    Alternative,
    BoltHeld,
    BoltMoved,
    BoltSnugged,
    ClickedAtSetting,
    Event,
    Item,
    Measured,
    Measurement,
    MeasurementKept,
    NameKept,
    Pass,
    Question,
    QuestionAnswered,
    ReadingAccepted,
    ReadingKept,
    StopReleased,
    Wait,
    WaitCutShort,
    WaitOver,
    WorkLaidOut,
)

NO_WORK = WorkLaidOut(joint="", stages=())
LEVELS = ("brief", "normal", "full")
"""Levels of talk, from the least to the most."""

AtBolt = BoltSnugged | ReadingAccepted | ReadingKept | ClickedAtSetting | BoltHeld | BoltMoved
"""What is recorded of one bolt in one round."""
Recording = AtBolt | QuestionAnswered | StopReleased | MeasurementKept | NameKept | WaitOver | WaitCutShort
"""Events that make an entry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One recorded answer; `valid` turns false when it is taken back, the entry itself stays.

    Args:
        number: 1.. in the order of recording.
        stage: 1.., of the work.
        round: 1.. of a pass that goes round, else 1.
        bolt: None for a question.
        event: the class of the event that recorded it.
        reading: the achieved torque as said, on the wrench's scale, or the measured figure, where there is one.
        text: the name, where a name is recorded.
    """

    number: int
    stage: int
    round: int
    bolt: int | None
    event: type[Recording]
    reading: Measured | None
    utterance: str
    valid: bool = True
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pending:
    """What a question is about: the reading or command that was not sure, or is out of the window."""

    heard: Alternative
    other: Alternative | None
    utterance: str
    reason: str = ""  # '' | low | high


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something that is not as the work needs it; `open` turns false when it was settled, the finding itself stays.

    Args:
        number, stage, bolt, sort, what, blocks, hold: as of the event `FindingMade`.
        changed: what changed since, "" as long as nobody said.
        changed_in: the utterance in which that was said.
    """

    number: int
    stage: int
    bolt: int | None
    sort: str
    what: str
    blocks: bool
    hold: bool
    changed: str = ""
    changed_in: str = ""
    open: bool = True


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
        denied: values of the item that is due that somebody said no to: heard again, they are asked about again.
        half: a yes or a choice that was not sure enough alone.
        purpose: what words, a name or the supervisor are asked for: "skip", "keep", "cut-short", "witness" ...
        phrase_in: the utterance of the phrase that released a stop of the plan, while its reason is asked for.
        new_reading, new_reading_in: what was said in place of a reason and may be a reading ("Is that a new reading?"),
            and in which utterance.
        name_heard, name_how, name_in: the name that was read back and waits for a yes, "" for none; how it was heard,
            and in which utterance.
        agreed: what the supervisor's name is still missing for: "skip", "keep" or "cut-short".
        findings: all that were made, in order.
        last_name: purpose and text of the name that was said last and is no entry; a correction takes it back.
        read_back: something was recorded and read back last, so that a bare no contests it.
        waits: stages whose wait has begun.
        clock_asked: whether the running wait is over is asked, for nobody can tell it by a clock that was set.
        off_the_record: no sound is kept until 'on the record'.
        left_s: what was left of the wait when it was last looked at; None before that.
        asked_back: stages before which an apprentice answered what was asked.
        expects: the right answer to what an apprentice is being asked, "" when nothing is.
        asks_of: the stage whose question that is, or was last: an earlier one where a wrong answer comes back.
        comes_back: stages whose question was answered wrongly and is asked once more later.
        lessons: moments that an apprentice should look at again: (class of event, stage, bolt).
        talk: one of LEVELS: how much is said.
        left: the joint was left open on purpose; the next opening clears it.
        name_wanted: whose names are asked for next: "tightens", "takes-over", "competent", "settles", in this order.
        cause_sought: (stage, round) after which a competent person looked for the cause of moving nuts.
        last_prompt: what was said last, for 'say again'; prompt_end: its last sample.
        talk_from, talk_to: first and last sample of speech that was for nobody here, pauses of a moment included.
        heard_snr_db: over the noise, of what was heard last, if it was understood at once.
        usual_snr_db: the same of answers that are on record, the latest counting most; None before.
        announced: stage and round of the last announcement, so that a pass is introduced once.
        introduced: the stage whose caution and explanation were said last since the session was opened: not said twice.
        warned: cautions that sounded to their end; cut: those that were broken off and are still to be heard.
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
    denied: tuple[Decimal, ...] = ()
    half: Alternative | None = None
    purpose: str = ""
    phrase_in: str = ""
    new_reading: Alternative | None = None
    new_reading_in: str = ""
    name_heard: str = ""
    name_how: str = ""
    name_in: str = ""
    agreed: str = ""
    findings: tuple[Finding, ...] = ()
    last_name: tuple[str, str] = ("", "")
    read_back: bool = False
    misses: int = 0
    last_prompt: str = ""
    prompt_end: int = 0
    talk_from: int = 0
    talk_to: int = 0
    heard_snr_db: float | None = None
    usual_snr_db: float | None = None
    skipped: tuple[tuple[int, int, str], ...] = field(default=())
    announced: tuple[int, int] = (0, 0)
    introduced: int = 0
    warned: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()
    notes: int = 0
    waits: tuple[int, ...] = ()
    clock_asked: bool = False
    left_s: int | None = None
    off_the_record: bool = False
    asked_back: tuple[int, ...] = ()
    expects: str = ""
    asks_of: int = 0
    comes_back: tuple[int, ...] = ()
    lessons: tuple[tuple[type[Event], int, int | None], ...] = ()
    name_wanted: tuple[str, ...] = ()
    cause_sought: tuple[int, int] = (0, 0)
    talk: str = "normal"
    left: bool = False
    closed: bool = False

    # ------------------------------------------------------------------------------------- what follows from it
    @property
    def stages(self) -> tuple[Item, ...]:
        """What all stages hold, in order."""
        return self.work.items

    @property
    def item(self) -> Item | None:
        """What the stage being worked on holds; None when all is done."""
        return self.work.stages[self.stage - 1].item if self.stage <= len(self.work.stages) else None

    @property
    def asked_item(self) -> Item | None:
        """The item about which an apprentice is being asked."""
        return self.work.stages[self.asks_of - 1].item if 1 <= self.asks_of <= len(self.work.stages) else None

    @property
    def current_pass(self) -> Pass | None:
        """The pass being worked on, or None while a question is due."""
        return self.item if isinstance(self.item, Pass) else None

    @property
    def question(self) -> Question | None:
        """The question being asked, or None."""
        return self.item if isinstance(self.item, Question) else None

    @property
    def wait(self) -> Wait | None:
        """The wait that is due or running, or None."""
        return self.item if isinstance(self.item, Wait) else None

    @property
    def measurement(self) -> Measurement | None:
        """The measurement that is due, or None."""
        return self.item if isinstance(self.item, Measurement) else None

    def done(self, stage: int, round_number: int) -> frozenset[int | None]:
        """Bolts (None for anything but a pass) whose valid entries finish them in this stage and round."""
        finishing = self._finishing(stage)
        return frozenset(
            e.bolt
            for e in self.entries
            if e.valid and e.stage == stage and e.round == round_number and (finishing is None or e.event in finishing)
        )

    def finishes(self, entry: Entry) -> bool:
        """Whether an entry is of a kind that finishes its place; where it has no place (foreign records) it raises."""
        kinds = self._finishing(entry.stage)
        return kinds is None or entry.event in kinds

    def _finishing(self, stage: int) -> frozenset[type[Recording]] | None:
        """Events whose entries finish this stage; None: any."""
        match self.work.stages[stage - 1].item:
            case Pass(goes_round=True):
                return frozenset({BoltHeld, BoltMoved})
            case Question(witness=True) | Measurement(who=True):
                return frozenset({NameKept})
        return None

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
        """The last entry that still counts: what a correction takes back. Time that has passed is not taken back."""
        return next((e for e in reversed(self.entries) if e.valid and e.event is not WaitOver), None)

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
        """A nut moved in the current round of a pass that goes round."""
        return any(
            e.valid and e.event is BoltMoved and e.stage == self.stage and e.round == self.round for e in self.entries
        )

    @property
    def movement_due(self) -> bool:
        """A pass that goes round: the reading of the current bolt is recorded, whether its nut moved is not."""
        item = self.current_pass
        return item is not None and item.goes_round and self.entry_of(self.bolt) is not None

    @property
    def name_due(self) -> str:
        """'witness' or 'measured' where the stage is answered and only the name of the person is missing, else ''."""
        item = self.item
        if self.entry_of(None) is None or None in self.done(self.stage, 1):
            return ""
        if isinstance(item, Question) and item.witness:
            return "witness"
        return "measured" if isinstance(item, Measurement) and item.who else ""

    @property
    def trouble(self) -> Finding | None:
        """The first trouble that holds everything up until somebody says what was done about it."""
        return next((f for f in self.findings if f.open and f.blocks and f.sort == "trouble"), None)

    @property
    def finding(self) -> Finding | None:
        """The open finding that what is due depends on: trouble first, then the last failing answer of this stage.

        One of which the change was told waits for nothing more where whoever passes the question is named anyway.
        """
        own = [f for f in self.findings if f.open and f.blocks and f.sort == "answer" and f.stage == self.stage]
        own = [f for f in own if not (f.changed and self.names_at(f))]
        return self.trouble or (own[-1] if own else None)

    def names_at(self, finding: Finding) -> bool:
        """Whether the name that a question asks for settles what failed there, so that it is asked for once."""
        item = self.work.stages[finding.stage - 1].item if finding.stage <= len(self.work.stages) else None
        return finding.sort == "answer" and isinstance(item, Question) and item.witness

    @property
    def team_open(self) -> tuple[int, ...]:
        """Bolts of the pull that is being worked on that are still open, the due one included."""
        item, bolt = self.current_pass, self.bolt
        if item is None or bolt is None:
            return ()
        return tuple(b for b in item.team(bolt) if b in self.open_bolts)

    @property
    def finished(self) -> bool:
        """Every stage is done."""
        return self.item is None
