"""What is said around the bolts: tools, waits, measurements, names, replaced parts, and beside an apprentice."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from assistant.events import (
    AnsweredBack,
    EntryTakenBack,
    Event,
    FindingMade,
    MeasurementRefused,
    OtherBoltNamed,
    QuestionRefused,
    ReadingImpossible,
    ReadingOutside,
    SupervisorAsked,
)
from assistant.speech.wording.english_numbers import EnglishNumbers

MOMENTS: Mapping[type[Event], str] = {
    AnsweredBack: "a wrong answer",
    QuestionRefused: "a phrase that did not pass",
    ReadingOutside: "a reading outside its window",
    ReadingImpossible: "a number that could not be",
    OtherBoltNamed: "another bolt than the one due",
    EntryTakenBack: "an entry taken back",
    SupervisorAsked: "a step you wanted to skip",
    MeasurementRefused: "a measured figure out of limits",
    FindingMade: "something that was not as it should be",
}
"""Moments of the debrief, by the kind of event."""


ORDERS = {
    "cross": "crosswise",
    "star": "crosswise",
    "modified cross": "crosswise, rising in the first pass",
    "four points": "at four points, then on round",
    "quadrant": "quarter by quarter",
    "circular": "one after the other",
    "groups": "in groups, crosswise",
    "line": "from the middle out",
    "rectangle": "from the middle out, always opposite",
    "clamp": "each side in turn",
    "split hub": "in pairs across the hub",
}
"""The order families of `bolting.tightening.pattern`, as people say them."""


class EnglishCourse(EnglishNumbers):
    """The course of the work from permit to close."""

    moments = MOMENTS

    # ------------------------------------------------------------------------------------------------- laying out
    def cautions(self) -> tuple[str, ...]:
        """Usual cautions (common practice, no source; pull, stand clear, hands off: read in public safety pages)."""
        return (
            "Maker's instruction, site rules and local codes come first.",
            "Pull, don't push. Stand clear of a loaded stud's line of flight. Hands clear of the reaction arm.",
            "Never tighten a joint under pressure without a written procedure that allows it.",
        )

    def closing(self) -> str:
        """The last question of every joint."""
        return "Every tool counted?"

    def called_closing(self) -> str:
        """What the last question is called."""
        return "closing"

    def why_closing(self) -> str:
        """Why it is asked."""
        return "The record is sealed after this. Nothing can be added."

    def tool(self, group: str) -> str:
        """Ask which wrench it is; `group` where there are several."""
        return f"Which wrench for the {group}?" if group else "Which wrench?"

    def tool_scale(self, wrench: str) -> str:
        """Ask for the unit of a wrench's scale; `wrench` where it was not asked for."""
        return f"{wrench[:1].upper()}{wrench[1:]}: which unit?" if wrench else "Which unit does it read?"

    def tool_label(self, wrench: str) -> str:
        """Ask for the calibration label; `wrench` as there."""
        return f"Calibration of {wrench} in date?" if wrench else "Calibration label in date?"

    def tool_name(self, wrench: str) -> str:
        """How the question about a wrench is called."""
        return wrench

    def tool_scale_name(self, wrench: str) -> str:
        """How the question about its scale is called."""
        return f"scale of {wrench}"

    def tool_label_name(self, wrench: str) -> str:
        """How the question about its label is called."""
        return f"label of {wrench}"

    def multiplier(self, group: str) -> str:
        """Ask which multiplier it is."""
        return f"Multiplier for the {group}: what number?"

    def multiplier_name(self, multiplier: str) -> str:
        """How the question about it is called."""
        return multiplier

    def why_multiplier(self) -> str:
        """Why it is asked."""
        return "Another multiplier turns the right setting into the wrong bolt value."

    def why_tool(self) -> str:
        """Why it is asked."""
        return "Every value I say is on this wrench's own scale."

    def why_snug(self) -> str:
        """Why snug comes first."""
        return "Snug brings the faces into even contact before any load."

    def why_pattern(self, share: Decimal, family: str) -> str:
        """Why this pass: its share of the full value, and the order."""
        percent = self.number(share).capitalize()
        return f"{percent} percent of the full value, {ORDERS.get(family, family)}, so the load comes on evenly."

    def why_circular(self) -> str:
        """Why all round."""
        return "Each bolt unloads its neighbours. We go round until no nut moves."

    def why_seat(self) -> str:
        """Why tap and re-torque."""
        return "Friction locks part of the load in one place. Striking frees it, so we pull again until it holds."

    def review(self, bolts: tuple[int, ...]) -> str:
        """A review wants bolts done again."""
        named = [self.number(Decimal(bolt)) for bolt in bolts]
        which = ("bolts " if len(named) > 1 else "bolt ") + ", ".join(named)
        which = which if len(named) <= 3 else f"{self.number(Decimal(len(named)))} bolts"
        return f"The lead wants {which} done again, then all round. Ready?"

    def called_review(self) -> str:
        """What the review's question is called."""
        return "review"

    def why_review(self) -> str:
        """Why they are done again."""
        return "The lead reviewed the record and wants these bolts done again."

    # ---------------------------------------------------------------------------------------------- tap, teams, places
    def seat_begins(self, round_number: int, group: str | None, tap: str, *, told: bool) -> str:
        """Said at the start of a round of tap and re-torque; the first bolt with its figure follows."""
        whose = f"{group}. " if group else ""
        answers = " Say: it moved, or: did not move." if told else ""
        if round_number > 1:
            return f"{whose}A nut moved. Tap and pull again, round {self.number(Decimal(round_number))}."
        return f"{whose}{tap} Then pull again.{answers}"

    def together(self, bolts: tuple[int, ...], setting: str | None) -> str:
        """Several tools pull at once: all bolts of the pull, and the figure where it has changed."""
        named = ", ".join(self.number(Decimal(bolt)) for bolt in bolts)
        return f"Bolts {named}, together{f', to {setting}' if setting else ''}."

    def reading_of(self, bolt: int) -> str:
        """Ask for the reading of one bolt of a pull."""
        return f"And bolt {self.number(Decimal(bolt))}?"

    def place(self, where: str) -> str:
        """How to tell a bolt's place."""
        return f"{where[:1].upper()}{where[1:]}."

    # ------------------------------------------------------------------------------------------------ waits, figures
    def duration(self, seconds: int) -> str:
        """A length of time in words, to the minute."""
        minutes = max(1, round(seconds / 60))
        days, minutes = divmod(minutes, 24 * 60)
        hours, minutes = divmod(minutes, 60)
        parts = [(days, "day"), (hours, "hour"), (minutes, "minute")]
        said = [f"{self.number(Decimal(n))} {word}{'s' if n != 1 else ''}" for n, word in parts if n]
        return " ".join(said[:2]) or "less than a minute"

    def wait_begins(self, name: str, seconds: int, *, told: bool) -> str:
        """Time has to pass."""
        more = " I'll call you. Or say: leave it open." if told else ""
        return f"{name[:1].upper()}{name[1:]}: {self.duration(seconds)}.{more}"

    def wait_goes_on(self, name: str, seconds: int) -> str:
        """Time goes on passing."""
        return f"{name[:1].upper()}{name[1:]}: {self.duration(seconds)} to go."

    def clock_counted(self) -> str:
        """The machine's clock was set during a wait that is counted without it."""
        return "The clock was set. The wait is counted without it."

    def clock_asked(self, seconds: int) -> str:
        """The machine's clock was set, and part of a wait of so many seconds passed while the machine was off."""
        return f"I was off, and the clock was set. Has it been {self.duration(seconds)}?"

    def off_the_record(self) -> str:
        """No sound is kept from here on."""
        return "Off the record: no sound is kept. To go back, say: on the record."

    def on_the_record(self) -> str:
        """Sound is kept again."""
        return "On the record."

    def wait_over(self, name: str) -> str:
        """Time is up."""
        return f"{name[:1].upper()}{name[1:]} is over."

    def wait_cut_short(self, name: str) -> str:
        """Ended before its time."""
        return f"{name[:1].upper()}{name[1:]} cut short. Reason noted."

    def measure(self, ask: str, unit: str) -> str:
        """Ask for a figure that is no torque; of a pressure without its unit ('bar' is easily taken for 'five')."""
        return f"{ask} The number alone." if unit == "bar" else f"{ask} In {self.unit_words(unit)}."

    def measured_outside(self, value: Decimal, unit: str, side: str, limit: Decimal) -> str:
        """A figure with which work does not go on."""
        said = "Too low. It takes at least" if side == "low" else "Too high. It takes at most"
        heard = f"{self.number(value).capitalize()} {self.unit_words(unit)}."
        return f"{heard} {said} {self.number(limit)}."

    # ------------------------------------------------------------------------------------------------- names, parts
    def name_please(self, purpose: str, role: str) -> str:
        """Ask for a name in free speech."""
        return {
            "tightens": "Who tightens?",
            "settles": "Who releases it?",
            "supervisor": "Who supervises?",
            "witness": f"{role[:1].upper()}{role[1:]}, your name please?" if role else "Who releases it?",
            "measured": "Who measured it?",
            "takes-over": "Who takes over?",
            "competent": "Who looked for the cause?",
        }[purpose]

    def name_kept(self) -> str:
        """A name was kept; it is not repeated, because names are often misheard."""
        return "Got the name."

    def replaced(self, bolt: int) -> str:
        """A new bolt is brought up alone."""
        return f"Bring it up alone first: new bolt {self.number(Decimal(bolt))}."

    def restarted(self, reason: str) -> str:
        """Passes are done over."""
        return (
            "Fit a new gasket. We start again from assembly."
            if reason == "gasket"
            else "This pass again, from its first bolt."
        )

    # --------------------------------------------------------------------------------------------------- apprentice
    def caution(self, text: str) -> str:
        """A caution at its moment."""
        return f"Careful. {text}"

    def explained(self, why: str, goes_wrong: str) -> str:
        """Why a step is done, and what goes wrong."""
        return " ".join(part for part in (why, goes_wrong and f"What goes wrong: {goes_wrong}") if part)

    def which_bolt_next(self, first: int, *, again: bool) -> str:
        """Ask which bolt comes second in the order."""
        return self.asked_back(f"after bolt {self.number(Decimal(first))}, which bolt comes next?", again=again)

    def asked_back(self, ask: str, *, again: bool) -> str:
        """A question before the step; `again` where it was answered wrongly earlier."""
        return f"{'The question from before' if again else 'Question'}: {ask}"

    def right(self, because: str) -> str:
        """The answer was right."""
        return f"Right. {because}".strip()

    def wrong(self, answer: str, because: str) -> str:
        """The answer was wrong; the right one is told."""
        return f"No, {answer}. {because}".strip()

    def and_why(self) -> str:
        """Ask for the reason."""
        return "And why?"

    def compare(self, why: str) -> str:
        """The usual reason, to compare one's own with."""
        return f"Noted. The usual reason: {why}" if why else "Noted."

    def bolt_named(self, bolt: int) -> str:
        """A bolt as an answer."""
        return f"bolt {self.number(Decimal(bolt))}"

    def phrase_named(self, phrase: str) -> str:
        """A phrase as an answer."""
        return phrase

    def supervisor(self) -> str:
        """An apprentice needs the supervisor, who knows the phrase; it is not told to the apprentice."""
        return "You need your supervisor for that. Supervisor, say your phrase."

    def debrief(self, moments: tuple[str, ...]) -> str:
        """After the joint: what to look at again."""
        if not moments:
            return "Nothing to look at again. Well done."
        return f"Look at these again: {'; '.join(moments)}."

    def moment(self, event: type[Event], bolt: int | None) -> str:
        """One moment of the debrief."""
        what = MOMENTS[event]
        return f"{what}, bolt {self.number(Decimal(bolt))}" if bolt is not None else what
