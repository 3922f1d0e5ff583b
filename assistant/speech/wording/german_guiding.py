"""What is said while work goes its way, in German: beginning and end, the next item, what was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from typing_extensions import override

from assistant.events import BoltHeld, BoltMoved, BoltSnugged, ClickedAtSetting, Event
from assistant.speech.wording.english_guiding import EnglishGuiding
from assistant.speech.wording.german_numbers import GermanNumbers, capital, english

ENTRIES: Mapping[type[Event], str] = {
    BoltSnugged: "handfest",
    BoltHeld: "hat gehalten",
    BoltMoved: "ging weiter",
    ClickedAtSetting: "geknackt",
}
GROUPS = {"split bolts": "Spannschrauben", "joint bolts": "Flanschschrauben"}
"""Groups that a shipped procedure names; others are said as they stand in the joint file."""
THROUGH = {"multiplier": "den Drehmomentvervielfältiger", "adapter": "das Zwischenstück"}


class GermanGuiding(GermanNumbers, EnglishGuiding):
    """Aufforderungen und Rückmeldungen: requests and read-backs."""

    entries = ENTRIES

    def opening(self, joint: str) -> str:
        """First words of a session; listening is English."""
        return f"{joint}. Herstelleranleitung und Baustellenregeln gehen vor. Antworte auf Englisch."

    @override
    def approval(self, state: str, by: str) -> str:
        said = {
            "approved": f"Freigegeben von {by}.",
            "changed": f"Nicht freigegeben: das Blatt wurde geändert, seit {by} es freigab.",
            "not believed": "Nicht freigegeben: die Freigabe hat niemand unterschrieben, der hier bekannt ist.",
        }
        return said.get(state, "Dieses Blatt ist nicht freigegeben.")

    @override
    def resuming(self, joint: str) -> str:
        return f"{joint}. Weiter, wo wir aufgehört haben."

    @override
    def closed(self) -> str:
        return "Verbindung abgeschlossen und versiegelt."

    @override
    def left(self) -> str:
        return "Gespeichert. Die Verbindung ist nicht fertig."

    # -------------------------------------------------------------------------------------------------- questions
    @override
    def hold_point(self, ask: str, phrase: str) -> str:
        return f"{ask} Sag: {english(phrase)}."

    @override
    def states(self, ask: str, answers: tuple[str, ...]) -> str:
        return f"{ask} {self.one_of(answers)}"

    @override
    def one_of(self, answers: tuple[str, ...]) -> str:
        return f"Sag: {', '.join(map(english, answers[:-1]))} oder {english(answers[-1])}."

    @override
    def answered(self, phrase: str) -> str:
        return f"{english(phrase)}."

    @override
    def good(self) -> str:
        return "Gut."

    # ------------------------------------------------------------------------------------------------------ bolts
    @override
    def group(self, name: str, count: int) -> str:
        return f"{capital(self.number(Decimal(count)))} {GROUPS.get(name.casefold(), name)}"

    @override
    def snug(self, bolt: int, *, first: bool, group: str | None = None) -> str:
        if not first:
            return self.circle(bolt)
        return f"{group}. Nur handfest. {self.circle(bolt)}" if group else f"Nur handfest. {self.circle(bolt)}"

    def turn(self, bolt: int, setting: str) -> str:
        """Ask for a bolt with its figure: 'Schraube fünf, auf hundertachtzig.'"""
        return f"Schraube {self.number(Decimal(bolt))}, auf {setting}."

    @override
    def wrench_to(self, bolt: int, setting: str) -> str:
        return f"Schraube {self.number(Decimal(bolt))}. Schlüssel auf {setting}."

    @override
    def set_to(self, bolt: int, setting: str) -> str:
        return f"Schraube {self.number(Decimal(bolt))}. Schlüssel einstellen auf {setting}."

    @override
    def bolt_gets(self, target: str, through: str) -> str:
        between = " und ".join(THROUGH.get(part, part) for part in through.split(" and "))
        return f"Schraubenwert {target}, über {between}."

    @override
    def bolt_gets_now(self, target: str) -> str:
        return f"Schraubenwert {target}."

    def pass_begins(self, pass_number: int, group: str | None) -> str:
        """Said at the start of a pass ('Stufe'; 'Durchgang' would rhyme with 'Rundgang')."""
        whose = f"{group}. " if group else ""
        return f"{whose}Stufe {self.number(Decimal(pass_number))}."

    def circular_begins(self, round_number: int, group: str | None, *, recheck: bool, told: bool) -> str:
        """Said at the start of a circular round; the first bolt with its figure follows."""
        whose = f"{group}. " if group else ""
        if round_number > 1:
            return f"{whose}Eine Mutter ging weiter. Noch eine Runde, Nummer {self.number(Decimal(round_number))}."
        answers = f" Sag {english('it moved')} oder {english('did not move')}." if told else ""
        return f"{whose}{'Das ist die Nachprüfung, reihum' if recheck else 'Kontrollrunde'}.{answers}"

    @override
    def circle(self, bolt: int) -> str:
        return f"Schraube {self.number(Decimal(bolt))}."

    @override
    def moved_or_not(self, bolt: int) -> str:
        return f"Ging die Mutter noch weiter, Schraube {self.number(Decimal(bolt))}?"

    # -------------------------------------------------------------------------------------------------- read-backs
    def recorded(self, bolt: int, value: Decimal, *, spell: bool, other_unit: str = "", converted: str = "") -> str:
        """Read back with its bolt; a word keeps the bolt and the value apart."""
        said = self.figures(value) if spell else self.number(value)
        if other_unit:
            return f"{self._bolt(bolt)} eingetragen, {said} {self.unit_words(other_unit)}, das sind {converted}."
        return f"{self._bolt(bolt)} eingetragen, {said}."

    def read_back(self, value: Decimal, *, spell: bool) -> str:
        """Read back in passing, the next bolt follows."""
        said = " ".join(self.figures(value).split(", ")) if spell else self.number(value)
        return f"{capital(said)}."

    @override
    def clicked(self) -> str:
        return "Geknackt."

    @override
    def held(self) -> str:
        return "Hat gehalten."

    @override
    def moved(self) -> str:
        return "Ging weiter."

    @override
    def is_snug(self) -> str:
        return "Handfest."

    @override
    def kept(self, bolt: int, value: Decimal) -> str:
        return f"{self._bolt(bolt)} bleibt außerhalb der Toleranz. {capital(self.number(value))}."

    @override
    def entry(self, bolt: int, what: str) -> str:
        return f"Schraube {self.number(Decimal(bolt))}, {what}"

    @override
    def taken_back(self, what: str) -> str:
        return f"Zurückgenommen: {what}."

    @override
    def skipped(self, bolt: int) -> str:
        return f"Dann kommt sie am Schluss, Schraube {self.number(Decimal(bolt))}."

    @override
    def noted(self) -> str:
        return "Notiert."

    @override
    def last_round(self, rounds: int) -> str:
        done = self.number(Decimal(rounds))
        return f"Stopp. Muttern gehen immer noch weiter. Hol jemanden, der die Ursache sucht. Runden bisher: {done}."

    @override
    def all_done(self) -> str:
        return "Alle Schrauben fertig."
