"""What is said while work goes its way, in German: beginning and end, the next item, what was recorded."""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.wording.english_guiding import EnglishGuiding
from assistant.speech.wording.german_numbers import GermanNumbers, capital, english

ENTRIES = {
    "bolt-snugged": "handfest",
    "bolt-held": "hält",
    "bolt-moved": "dreht noch",
    "clicked-at-setting": "geknackt",
}
GROUPS = {"clamp bolts": "Klemmschrauben", "cross bolts": "Querschrauben"}
"""Groups that a shipped procedure names; others are said as they stand in the joint file."""


class GermanGuiding(GermanNumbers, EnglishGuiding):
    """Aufforderungen und Rückmeldungen: requests and read-backs."""

    entries = ENTRIES

    def opening(self, joint: str) -> str:
        """First words of a session; listening is English."""
        return f"{joint}. Anleitung des Herstellers und Regeln der Baustelle gehen vor. Antworte auf Englisch."

    def resuming(self, joint: str) -> str:
        """First words of a session that goes on."""
        return f"{joint}. Weiter, wo wir aufgehört haben."

    def one_ear(self, listener: str) -> str:
        """Said when a listener is missing: it will ask more often."""
        return f"Nur ein Hörer, {listener}. Ich frage öfter nach."

    def closed(self) -> str:
        """Last words."""
        return "Verbindung abgeschlossen und versiegelt."

    def left(self) -> str:
        """Said when the session ends before the joint is finished."""
        return "Gespeichert. Die Verbindung ist nicht fertig."

    def hold_point(self, ask: str, phrase: str) -> str:
        """A question that only its phrase passes."""
        return f"{ask} Sag: {english(phrase)}."

    def group(self, name: str, count: int) -> str:
        """A bolt group where there are several: its name and how many bolts it has."""
        return f"{capital(GROUPS.get(name.casefold(), name))}, {self.number(Decimal(count))} Stück"

    def snug(self, bolt: int, *, first: bool, group: str | None = None) -> str:
        """Ask for a bolt to be snugged; `group` (worded by `group`) where a snug pass begins and there are several."""
        whose = f"{group}. " if group else ""
        request = f"Nur handfest, Schraube {self.number(Decimal(bolt))}."
        return f"{whose}Erste Runde. {request}" if first else request

    def turn(self, bolt: int, setting: Decimal) -> str:
        """Ask for a bolt: 'Schraube fünf. Moment hundertachtzig.' A word keeps the two numbers apart."""
        return f"Schraube {self.number(Decimal(bolt))}. Moment {self.number(setting)}."

    def pass_begins(self, pass_number: int, group: str | None, setting: str, *, clicks: bool) -> str:
        """Said at the start of a pass ('Stufe'; 'Durchgang' would rhyme with 'Rundgang')."""
        whose = f"{group}. " if group else ""
        how = "Schlüssel einstellen auf" if clicks else "Anzugsmoment"
        return f"{whose}Stufe {self.number(Decimal(pass_number))}. {how} {setting}."

    def circular_begins(self, round_number: int, group: str | None, setting: str, *, recheck: bool = False) -> str:
        """Said at the start of a circular round; `setting` with its unit (`amount`)."""
        whose = (f"{group}. " if group else "") + ("Das ist die Nachprüfung. " if recheck else "")
        if round_number > 1:
            return f"{whose}Eine Mutter dreht noch. Rundgang {self.number(Decimal(round_number))}."
        answers = f"{english('it moved')} oder {english('did not move')}"
        return f"{whose}Rundgang, der Reihe nach. Sag {answers}. {capital(setting)}."

    def circle(self, bolt: int) -> str:
        """Ask for a bolt of a circular pass."""
        return f"Schraube {self.number(Decimal(bolt))}."

    def moved_or_not(self, bolt: int) -> str:
        """The reading is in, the movement is not."""
        return f"Hat sich die Mutter gedreht, Schraube {self.number(Decimal(bolt))}?"

    def recorded(self, bolt: int, value: Decimal, *, spell: bool, other_unit: str = "", converted: str = "") -> str:
        """Read back in passing; a word keeps the bolt and the value apart."""
        said = self.figures(value) if spell else self.number(value)
        if other_unit:
            return f"{self._bolt(bolt)} eingetragen, {said} {self.unit_words(other_unit)}, das sind {converted}."
        return f"{self._bolt(bolt)} eingetragen, {said}."

    def clicked(self, bolt: int, setting: Decimal) -> str:
        """A click is read back as a click."""
        return f"{self._bolt(bolt)} geknackt, {self.number(setting)}."

    def held(self, bolt: int) -> str:
        """The nut did not move."""
        return f"{self._bolt(bolt)} hält."

    def moved(self, bolt: int) -> str:
        """The nut moved."""
        return f"{self._bolt(bolt)} dreht noch."

    def is_snug(self, bolt: int) -> str:
        """Snug is read back."""
        return f"{self._bolt(bolt)} handfest."

    def kept(self, bolt: int, value: Decimal) -> str:
        """Outside the window, kept with a reason."""
        return f"{self._bolt(bolt)} bleibt so, mit deiner Begründung. {capital(self.number(value))}."

    def answered(self, phrase: str) -> str:
        """A check or hold point passed."""
        return f"Eingetragen: {english(phrase)}."

    def entry(self, bolt: int, what: str) -> str:
        """An entry named: its bolt and what was recorded there."""
        return f"Schraube {self.number(Decimal(bolt))}, {what}"

    def taken_back(self, what: str) -> str:
        """A correction says which entry no longer counts."""
        return f"Gestrichen: {what}."

    def skipped(self, bolt: int) -> str:
        """Left for the end of the pass."""
        return f"{self._bolt(bolt)} kommt am Ende dieser Stufe."

    def noted(self) -> str:
        """A note was kept."""
        return "Notiert."

    def last_round(self, rounds: int) -> str:
        """Nuts still move after the last round."""
        return (
            f"Stopp. Muttern drehen immer noch. Hol eine befähigte Person. "
            f"Runden bisher: {self.number(Decimal(rounds))}."
        )

    def all_done(self) -> str:
        """Every pass has its entries."""
        return "Alle Schrauben aller Stufen sind eingetragen."
