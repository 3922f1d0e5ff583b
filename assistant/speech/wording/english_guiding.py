"""What is said while work goes its way: beginning and end, the next item, what was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from assistant.events import BoltHeld, BoltMoved, BoltSnugged, ClickedAtSetting, Event
from assistant.speech.wording.english_numbers import EnglishNumbers

ENTRIES: Mapping[type[Event], str] = {
    BoltSnugged: "snug",
    BoltHeld: "held",
    BoltMoved: "moved",
    ClickedAtSetting: "clicked",
}
"""What was recorded without a figure, by the kind of event."""
THROUGH = {"multiplier": "the multiplier", "adapter": "the adapter"}
"""What stands between the wrench and the bolt."""


class EnglishGuiding(EnglishNumbers):
    """Requests and read-backs."""

    entries = ENTRIES

    def opening(self, joint: str) -> str:
        """First words of a session."""
        return f"{joint}. Maker's instruction and site rules come first."

    def approval(self, state: str, by: str) -> str:
        """Whether the joint file and its plan were approved; nothing is known of whether they are right."""
        said = {
            "approved": f"Approved by {by}.",
            "changed": f"Not approved: the joint file has changed since {by} approved it.",
            "not believed": "Not approved: its approval is signed by nobody known here.",
        }
        return said.get(state, "This joint file is not approved.")

    def resuming(self, joint: str) -> str:
        """First words of a session that goes on."""
        return f"{joint}. Going on where we stopped."

    def closed(self) -> str:
        """Last words."""
        return "Joint closed and sealed."

    def left(self) -> str:
        """Said when the session ends before the joint is finished."""
        return "Saved. This joint is not finished."

    # -------------------------------------------------------------------------------------------------- questions
    def hold_point(self, ask: str, phrase: str) -> str:
        """A question that only its phrase passes."""
        return f"{ask} Say: {phrase}."

    def states(self, ask: str, answers: tuple[str, ...]) -> str:
        """A question with the answers that are understood, right and wrong ones alike."""
        return f"{ask} {self.one_of(answers)}"

    def one_of(self, answers: tuple[str, ...]) -> str:
        """Answers to choose from."""
        return f"Say: {', '.join(answers[:-1])}, or {answers[-1]}."

    def answered(self, phrase: str) -> str:
        """A check or hold point passed by a phrase: it is echoed."""
        return f"{phrase.capitalize()}."

    def good(self) -> str:
        """A check passed by a yes, a figure that was confirmed."""
        return "Good."

    # ------------------------------------------------------------------------------------------------------ bolts
    def group(self, name: str, count: int) -> str:
        """A bolt group where there are several: its name and how many bolts it has."""
        return f"{self.number(Decimal(count)).capitalize()} {name}"

    def snug(self, bolt: int, *, first: bool, group: str | None = None) -> str:
        """Ask for a bolt to be snugged; `group` (worded by `group`) where a snug pass begins and there are several."""
        if not first:
            return self.circle(bolt)
        return f"{group}. Snug only, bolt {self.number(Decimal(bolt))}." if group else f"Snug only. {self.circle(bolt)}"

    def turn(self, bolt: int, setting: str) -> str:
        """Ask for a bolt with its figure: 'Bolt five, to one eighty.'"""
        return f"Bolt {self.number(Decimal(bolt))}, to {setting}."

    def wrench_to(self, bolt: int, setting: str) -> str:
        """The same where the bolt gets another torque than the wrench shows."""
        return f"Bolt {self.number(Decimal(bolt))}. Wrench to {setting}."

    def set_to(self, bolt: int, setting: str) -> str:
        """The same where a click wrench has to be set anew."""
        return f"Bolt {self.number(Decimal(bolt))}. Set the wrench to {setting}."

    def bolt_gets(self, target: str, through: str) -> str:
        """What the bolt gets where the wrench shows another figure, and through what; the wrench's figure follows."""
        between = " and ".join(THROUGH.get(part, part) for part in through.split(" and "))
        return f"Bolt value {target}, through {between}."

    def bolt_gets_now(self, target: str) -> str:
        """What the bolt gets in the next pass, where it is known through what."""
        return f"Bolt value {target}."

    def pass_begins(self, pass_number: int, group: str | None) -> str:
        """Said at the start of a pass; the first bolt with its figure follows."""
        whose = f"{group}. " if group else ""
        return f"{whose}Pass {self.number(Decimal(pass_number))}."

    def circular_begins(self, round_number: int, group: str | None, *, recheck: bool, told: bool) -> str:
        """Said at the start of a circular round; the first bolt with its figure follows.

        Args:
            recheck: the round belongs to the re-check.
            told: the answers are told as well.
        """
        whose = f"{group}. " if group else ""
        if round_number > 1:
            return f"{whose}A nut moved. Go round again, round {self.number(Decimal(round_number))}."
        answers = " Say: it moved, or: did not move." if told else ""
        return f"{whose}{'This is the re-check, all round' if recheck else 'All round'}.{answers}"

    def circle(self, bolt: int) -> str:
        """Ask for a bolt whose figure has not changed."""
        return f"Bolt {self.number(Decimal(bolt))}."

    def moved_or_not(self, bolt: int) -> str:
        """The reading is in, the movement is not."""
        return f"Did the nut move on bolt {self.number(Decimal(bolt))}?"

    # -------------------------------------------------------------------------------------------------- read-backs
    def recorded(self, bolt: int, value: Decimal, *, spell: bool, other_unit: str = "", converted: str = "") -> str:
        """Read back with its bolt; 'recorded' keeps bolt and value apart ('one, ninety five' is 195 too)."""
        said = self.figures(value) if spell else self.number(value)
        if other_unit:
            return f"{self._bolt(bolt)} recorded, {said} {self.unit_words(other_unit)}, that is {converted}."
        return f"{self._bolt(bolt)} recorded, {said}."

    def read_back(self, value: Decimal, *, spell: bool) -> str:
        """Read back in passing, the next bolt follows: 'Fifty three.'"""
        said = " ".join(self.figures(value).split(", ")) if spell else self.number(value)
        return f"{said.capitalize()}."

    def clicked(self) -> str:
        """A click is read back as a click."""
        return "Clicked."

    def held(self) -> str:
        """The nut did not move."""
        return "Held."

    def moved(self) -> str:
        """The nut moved."""
        return "It moved."

    def is_snug(self) -> str:
        """Snug is read back."""
        return "Snug."

    def kept(self, bolt: int, value: Decimal) -> str:
        """Outside the window, kept with a reason."""
        return f"{self._bolt(bolt)} kept out of tolerance. {self.number(value).capitalize()}."

    def entry(self, bolt: int, what: str) -> str:
        """An entry named: its bolt and what was recorded there."""
        return f"bolt {self.number(Decimal(bolt))}, {what}"

    def taken_back(self, what: str) -> str:
        """A correction says which entry no longer counts."""
        return f"Taken back: {what}."

    def skipped(self, bolt: int) -> str:
        """Left for the end of the pass."""
        return f"Bolt {self.number(Decimal(bolt))} last, then."

    def noted(self) -> str:
        """A note was kept."""
        return "Noted."

    def last_round(self, rounds: int) -> str:
        """Nuts still move after the last round."""
        return f"Stop. Nuts still move. Get somebody to find the cause. Rounds done: {self.number(Decimal(rounds))}."

    def all_done(self) -> str:
        """Every pass has its entries."""
        return "All bolts done."
