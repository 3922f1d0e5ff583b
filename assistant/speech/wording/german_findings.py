"""What is said about what is wrong, what was done about it, about reasons that are none, and about names."""

from __future__ import annotations

from decimal import Decimal

from assistant.bolting.remark import Spoken
from assistant.speech.wording.german_guiding import GROUPS
from assistant.speech.wording.german_numbers import GermanNumbers, capital
from assistant.speech.wording.remarks import REMARKS

TROUBLES = {
    "somebody is hurt": "Erst helfen. Notruf und Vorarbeiter rufen. Keine Schraube anfassen.",
    "alarm": "Alles liegen lassen. Zum Sammelplatz. Dem Vorarbeiter Bescheid geben.",
    "there is a leak": "Abstand halten. Druck ablassen, bevor jemand anfasst. Vorarbeiter rufen.",
    "bolt broke": "Abstand halten, die Last ist jetzt ungleich. Verbindung sichern. Vorarbeiter rufen.",
    "nut turns free": "Diese Mutter lassen. Gewinde oder Schraube ist hin. Vorarbeiter rufen.",
    "thread damaged": "Diese Schraube lassen. Sie muss ersetzt werden. Vorarbeiter rufen.",
    "wrench dropped": "Diesen Schlüssel weglegen. Er kann falsch anzeigen. Einen anderen holen oder prüfen lassen.",
    "socket slipped": "Jemand verletzt? Nuss und Mutter ansehen. Dann noch einmal ziehen.",
}

NO_REASON = {
    "reading": "Das war eine Zahl. Den Grund bitte in Worten.",
    "words": "Das ist kein Grund. Bitte in einem Satz.",
    "short": "Ein Wort ist zu wenig. Bitte in einem Satz.",
}


class GermanFindings(GermanNumbers):
    """Findings, reasons, names."""

    troubles = TROUBLES
    no_reason = NO_REASON

    def not_yet(self) -> str:
        """A bare no to a check or hold point was heard."""
        return "Gut, noch nicht."

    def what_is_missing(self, *, bare: bool) -> str:
        """Ask for it in free words."""
        return "Was fehlt?" if bare else "Was hast du gefunden?"

    def why_that_one(self) -> str:
        """Ask why another wrench than the plan's is there."""
        return "Warum gerade das?"

    def described(self) -> str:
        """It was written down; the work waits."""
        return "Notiert. Die Arbeit wartet."

    def what_changed(self, what: str) -> str:
        """The passing answer came; what changed since the finding?"""
        return f"Gesagt war: „{what}“. Was wurde getan?"

    def settled(self) -> str:
        """The finding holds nothing up any more; what is due is asked for again."""
        return "Notiert. Jetzt noch einmal."

    def new_reading(self, reading: str) -> str:
        """A number came in place of a reason."""
        return f"Ist das ein neuer Wert: {reading}?"

    def why_release(self) -> str:
        """The reason for which a stop of the plan is released."""
        return "Warum darf es weitergehen? Den Grund bitte."

    def released(self) -> str:
        """A stop of the plan was released."""
        return "Der Halt ist freigegeben."

    def stop_called(self) -> str:
        """How a stop of the plan is called when it is spoken of."""
        return "Halt des Plans"

    def name_back(self, name: str) -> str:
        """A name is read back as a question."""
        return f"{name}. Stimmt das?"

    def name_again(self) -> str:
        """The name that was read back was wrong."""
        return "Den Namen noch einmal, oder buchstabieren."

    def name_named(self, name: str) -> str:
        """A name, as it is spoken of when it is taken back."""
        return f"der Name {name}"

    def bolt_value(self, value: Decimal, setting: Decimal) -> str:
        """The reading is what the bolt gets, not what the wrench shows."""
        said = self.number(value)
        return (
            f"{said[:1].upper()}{said[1:]} ist der Wert an der Schraube. Am Schlüssel ablesen: {self.number(setting)}."
        )

    def other_scale(self, unit: str, hint_unit: str) -> str:
        """A unit was said that the wrench does not carry."""
        here, said = self.unit_words(unit), self.unit_words(hint_unit)
        return f"Gesagt: {said}. Dieser Schlüssel zeigt {here}. Noch einmal ablesen."

    def fits_other_scale(self, value: Decimal, hint_unit: str, unit: str) -> str:
        """A bare number that fits a scale which the wrench does not carry."""
        said = self.number(value)
        there, here = self.unit_words(hint_unit), self.unit_words(unit)
        return f"{said[:1].upper()}{said[1:]} würde zu {there} passen. Lies die {here} noch einmal ab."

    def plan_remark(self, spoken: Spoken) -> str:
        """A caution or stop of the plan, for the ear, with its figures."""
        return capital(REMARKS[spoken.sentence].de.format(*(self._part(part) for part in spoken.parts)))

    def of_group(self, group: str, told: str) -> str:
        """What is said about one bolt group of several."""
        return f"{GROUPS.get(group.casefold(), group)}: {told}"

    def plan_warns(self) -> str:
        """Opens the first of the plan's cautions."""
        return "Der Plan warnt."

    def stop_asked(self, told: str) -> str:
        """A stop of the plan, asked as a hold point."""
        return f"Der Plan sagt Halt. {told} Vorarbeiter, gibst du das frei?"
