"""What is said about what is wrong, what was done about it, about reasons that are none, and about names."""

from __future__ import annotations

from decimal import Decimal

from typing_extensions import override

from assistant.bolting.remark import Spoken
from assistant.speech.wording.english_findings import EnglishFindings
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


class GermanFindings(GermanNumbers, EnglishFindings):
    """Findings, reasons, names."""

    troubles = TROUBLES
    no_reason = NO_REASON

    @override
    def not_yet(self) -> str:
        return "Gut, noch nicht."

    @override
    def what_is_missing(self, *, bare: bool) -> str:
        return "Was fehlt?" if bare else "Was hast du gefunden?"

    @override
    def why_that_one(self) -> str:
        return "Warum gerade das?"

    @override
    def described(self) -> str:
        return "Notiert. Die Arbeit wartet."

    @override
    def what_changed(self, what: str) -> str:
        return f"Gesagt war: „{what}“. Was wurde getan?"

    @override
    def settled(self) -> str:
        return "Notiert. Jetzt noch einmal."

    @override
    def new_reading(self, reading: str) -> str:
        return f"Ist das ein neuer Wert: {reading}?"

    @override
    def why_release(self) -> str:
        return "Warum darf es weitergehen? Den Grund bitte."

    @override
    def released(self) -> str:
        return "Der Halt ist freigegeben."

    @override
    def stop_called(self) -> str:
        return "Halt des Plans"

    @override
    def name_back(self, name: str) -> str:
        return f"{name}. Stimmt das?"

    @override
    def name_again(self) -> str:
        return "Den Namen noch einmal, oder buchstabieren."

    @override
    def name_named(self, name: str) -> str:
        return f"der Name {name}"

    @override
    def bolt_value(self, value: Decimal, setting: Decimal) -> str:
        said = self.number(value)
        return (
            f"{said[:1].upper()}{said[1:]} ist der Wert an der Schraube. Am Schlüssel ablesen: {self.number(setting)}."
        )

    @override
    def other_scale(self, unit: str, hint_unit: str) -> str:
        here, said = self.unit_words(unit), self.unit_words(hint_unit)
        return f"Gesagt: {said}. Dieser Schlüssel zeigt {here}. Noch einmal ablesen."

    @override
    def fits_other_scale(self, value: Decimal, hint_unit: str, unit: str) -> str:
        said = self.number(value)
        there, here = self.unit_words(hint_unit), self.unit_words(unit)
        return f"{said[:1].upper()}{said[1:]} würde zu {there} passen. Lies die {here} noch einmal ab."

    @override
    def plan_remark(self, spoken: Spoken) -> str:
        return capital(REMARKS[spoken.sentence].de.format(*(self._part(part) for part in spoken.parts)))

    @override
    def of_group(self, group: str, told: str) -> str:
        return f"{GROUPS.get(group.casefold(), group)}: {told}"

    @override
    def plan_warns(self) -> str:
        return "Der Plan warnt."

    @override
    def stop_asked(self, told: str) -> str:
        return f"Der Plan sagt Halt. {told} Vorarbeiter, gibst du das frei?"
