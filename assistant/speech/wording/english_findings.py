"""What is said about what is wrong, what was done about it, about reasons that are none, and about names."""

from __future__ import annotations

from decimal import Decimal

from assistant.bolting.remark import Spoken
from assistant.speech.wording.english_numbers import EnglishNumbers
from assistant.speech.wording.remarks import REMARKS

TROUBLES = {
    "somebody is hurt": "Help first. Call the emergency number and the lead. Touch no bolt.",
    "alarm": "Leave everything. Go to the muster point. Tell the lead.",
    "there is a leak": "Stand clear. Take the pressure off before you touch it. Call the lead.",
    "bolt broke": "Stand clear, the load is uneven now. Secure the joint. Call the lead.",
    "nut turns free": "Leave that nut. The thread or the bolt has failed. Call the lead.",
    "thread damaged": "Leave that bolt. It needs a new one. Call the lead.",
    "wrench dropped": "Don't use that wrench. It may read wrong. Get another one, or have it checked.",
    "socket slipped": "Anyone hurt? Look at the socket and the nut. Then pull again.",
}
"""What a competent person would say: people first, then stop, secure, call the lead (common practice, no source)."""

NO_REASON = {
    "reading": "That was a number. Give the reason in words.",
    "words": "That is no reason. Say it in a sentence.",
    "short": "One word is too short. Say it in a sentence.",
}


class EnglishFindings(EnglishNumbers):
    """Findings, reasons, names."""

    troubles = TROUBLES
    no_reason = NO_REASON

    def not_yet(self) -> str:
        """A bare no to a check or hold point was heard."""
        return "All right, not yet."

    def what_is_missing(self, *, bare: bool) -> str:
        """Ask for it in free words."""
        return "What is missing?" if bare else "Tell me what you found."

    def why_that_one(self) -> str:
        """Ask why another wrench than the plan's is there."""
        return "Why that one?"

    def described(self) -> str:
        """It was written down; the work waits."""
        return "Written down. The work waits."

    def what_changed(self, what: str) -> str:
        """The passing answer came; what changed since the finding?"""
        return f"You said: {what}. What has been done about it?"

    def settled(self) -> str:
        """The finding holds nothing up any more; what is due is asked for again."""
        return "Written down. Now once more."

    def new_reading(self, reading: str) -> str:
        """A number came in place of a reason."""
        return f"Is that a new reading: {reading}?"

    def why_release(self) -> str:
        """The reason for which a stop of the plan is released."""
        return "Why may the work go on? Give the reason."

    def released(self) -> str:
        """A stop of the plan was released."""
        return "The plan's stop is released."

    def stop_called(self) -> str:
        """How a stop of the plan is called when it is spoken of."""
        return "the plan's stop"

    def name_back(self, name: str) -> str:
        """A name is read back as a question."""
        return f"{name}. Is that right?"

    def name_again(self) -> str:
        """The name that was read back was wrong."""
        return "Say the name again, or spell it."

    def name_named(self, name: str) -> str:
        """A name, as it is spoken of when it is taken back."""
        return f"the name {name}"

    def bolt_value(self, value: Decimal, setting: Decimal) -> str:
        """The reading is what the bolt gets, not what the wrench shows."""
        return f"{self.number(value).capitalize()} is the bolt value. Read the wrench: {self.number(setting)}."

    def other_scale(self, unit: str, hint_unit: str) -> str:
        """A unit was said that the wrench does not carry."""
        return f"You said {self.unit_words(hint_unit)}. This wrench reads {self.unit_words(unit)}. Read it again."

    def fits_other_scale(self, value: Decimal, hint_unit: str, unit: str) -> str:
        """A bare number that fits a scale which the wrench does not carry."""
        said = self.number(value).capitalize()
        return f"{said} would fit {self.unit_words(hint_unit)}. Read the {self.unit_words(unit)} again."

    def plan_remark(self, spoken: Spoken) -> str:
        """A caution or stop of the plan, for the ear, with its figures."""
        said = REMARKS[spoken.sentence].en.format(*(self._part(part) for part in spoken.parts))
        return f"{said[:1].upper()}{said[1:]}"

    def of_group(self, group: str, told: str) -> str:
        """What is said about one bolt group of several."""
        return f"{group[:1].upper()}{group[1:]}: {told[:1].lower()}{told[1:]}"

    def plan_warns(self) -> str:
        """Opens the first of the plan's cautions."""
        return "The plan warns."

    def stop_asked(self, told: str) -> str:
        """A stop of the plan, asked as a hold point."""
        return f"The plan says stop. {told} Lead, will you release it?"
