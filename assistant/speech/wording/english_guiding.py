"""What is said while work goes its way: beginning and end, the next item, what was recorded."""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.wording.english_numbers import EnglishNumbers

ENTRIES = {
    "bolt-snugged": "snug",
    "bolt-held": "held",
    "bolt-moved": "moved",
    "clicked-at-setting": "clicked",
}
"""What was recorded without a figure, by the kind of event."""


class EnglishGuiding(EnglishNumbers):
    """Requests and read-backs."""

    entries = ENTRIES

    def opening(self, joint: str) -> str:
        """First words of a session."""
        return f"{joint}. Maker's instruction and site rules come first."

    def resuming(self, joint: str) -> str:
        """First words of a session that goes on."""
        return f"{joint}. Going on where we stopped."

    def one_ear(self, listener: str) -> str:
        """Said when a listener is missing: it will ask more often."""
        return f"Only one listener, {listener}. I will ask more often."

    def closed(self) -> str:
        """Last words."""
        return "Joint closed and sealed."

    def left(self) -> str:
        """Said when the session ends before the joint is finished."""
        return "Stored. The joint is not finished."

    def hold_point(self, ask: str, phrase: str) -> str:
        """A question that only its phrase passes."""
        return f"{ask} Say: {phrase}."

    def group(self, name: str, count: int) -> str:
        """A bolt group where there are several: its name and how many bolts it has."""
        return f"{name[:1].upper()}{name[1:]}, {self.number(Decimal(count))} of them"

    def snug(self, bolt: int, *, first: bool, group: str | None = None) -> str:
        """Ask for a bolt to be snugged; `group` (worded by `group`) where a snug pass begins and there are several."""
        whose = f"{group}. " if group else ""
        request = f"Snug only, bolt {self.number(Decimal(bolt))}."
        return f"{whose}Snug pass. {request}" if first else request

    def turn(self, bolt: int, setting: Decimal) -> str:
        """Ask for a bolt: 'Bolt five. Torque one eighty.' Without a word between, 'bolt twenty, three ten' is 'bolt
        twenty three, ten' too.
        """
        return f"Bolt {self.number(Decimal(bolt))}. Torque {self.number(setting)}."

    def pass_begins(self, pass_number: int, group: str | None, setting: str, *, clicks: bool) -> str:
        """Said at the start of a pass; `setting` with its unit. A wrench that clicks has to be set anew."""
        whose = f"{group}. " if group else ""
        how = "Set the wrench to" if clicks else "To"
        return f"{whose}Pass {self.number(Decimal(pass_number))}. {how} {setting}."

    def circular_begins(self, round_number: int, group: str | None, setting: str, *, recheck: bool = False) -> str:
        """Said at the start of a circular round; `setting` with its unit (`amount`)."""
        whose = (f"{group}. " if group else "") + ("This is the re-check. " if recheck else "")
        if round_number > 1:
            return f"{whose}A nut moved. Circular round {self.number(Decimal(round_number))}."
        return f"{whose}Circular pass. Say it moved, or did not move. {setting.capitalize()}."

    def circle(self, bolt: int) -> str:
        """Ask for a bolt of a circular pass."""
        return f"Bolt {self.number(Decimal(bolt))}."

    def moved_or_not(self, bolt: int) -> str:
        """The reading is in, the movement is not."""
        return f"Did the nut move on bolt {self.number(Decimal(bolt))}?"

    def recorded(self, bolt: int, value: Decimal, *, spell: bool, other_unit: str = "", converted: str = "") -> str:
        """Read back in passing; 'recorded' keeps the bolt and the value apart ('one, ninety five' is 195 too)."""
        said = self.figures(value) if spell else self.number(value)
        if other_unit:
            return f"{self._bolt(bolt)} recorded, {said} {self.unit_words(other_unit)}, that is {converted}."
        return f"{self._bolt(bolt)} recorded, {said}."

    def clicked(self, bolt: int, setting: Decimal) -> str:
        """A click is read back as a click."""
        return f"{self._bolt(bolt)} clicked, {self.number(setting)}."

    def held(self, bolt: int) -> str:
        """The nut did not move."""
        return f"{self._bolt(bolt)} held."

    def moved(self, bolt: int) -> str:
        """The nut moved."""
        return f"{self._bolt(bolt)} moved."

    def is_snug(self, bolt: int) -> str:
        """Snug is read back."""
        return f"{self._bolt(bolt)} snug."

    def kept(self, bolt: int, value: Decimal) -> str:
        """Outside the window, kept with a reason."""
        return f"{self._bolt(bolt)} kept, with your reason. {self.number(value).capitalize()}."

    def answered(self, phrase: str) -> str:
        """A check or hold point passed."""
        return f"{phrase.capitalize()}, recorded."

    def entry(self, bolt: int, what: str) -> str:
        """An entry named: its bolt and what was recorded there."""
        return f"bolt {self.number(Decimal(bolt))}, {what}"

    def taken_back(self, what: str) -> str:
        """A correction says which entry no longer counts."""
        return f"Taken back: {what}."

    def skipped(self, bolt: int) -> str:
        """Left for the end of the pass."""
        return f"{self._bolt(bolt)} left for the end of this pass."

    def noted(self) -> str:
        """A note was kept."""
        return "Noted."

    def last_round(self, rounds: int) -> str:
        """Nuts still move after the last round."""
        return f"Stop. Nuts still move. Call a competent person. Rounds done: {self.number(Decimal(rounds))}."

    def all_done(self) -> str:
        """Every pass has its entries."""
        return "Every bolt of every pass is recorded."
