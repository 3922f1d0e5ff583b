"""What is said while work goes its way, in German: beginning and end, the next item, what was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

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

    def approval(self, state: str, by: str) -> str:
        """Whether the joint file and its plan were approved; nothing is known of whether they are right."""
        said = {
            "approved": f"Freigegeben von {by}.",
            "changed": f"Nicht freigegeben: das Blatt wurde geändert, seit {by} es freigab.",
            "not believed": "Nicht freigegeben: die Freigabe hat niemand unterschrieben, der hier bekannt ist.",
        }
        return said.get(state, "Dieses Blatt ist nicht freigegeben.")

    def resuming(self, joint: str) -> str:
        """First words of a session that goes on."""
        return f"{joint}. Weiter, wo wir aufgehört haben."

    def closed(self) -> str:
        """Last words."""
        return "Verbindung abgeschlossen und versiegelt."

    def left(self) -> str:
        """Said when the session ends before the joint is finished."""
        return "Gespeichert. Die Verbindung ist nicht fertig."

    # -------------------------------------------------------------------------------------------------- questions
    def hold_point(self, ask: str, phrase: str) -> str:
        """A question that only its phrase passes."""
        return f"{ask} Sag: {english(phrase)}."

    def states(self, ask: str, answers: tuple[str, ...]) -> str:
        """A question with the answers that are understood, right and wrong ones alike."""
        return f"{ask} {self.one_of(answers)}"

    def one_of(self, answers: tuple[str, ...]) -> str:
        """Answers to choose from."""
        return f"Sag: {', '.join(map(english, answers[:-1]))} oder {english(answers[-1])}."

    def answered(self, phrase: str) -> str:
        """A check or hold point passed by a phrase: it is echoed."""
        return f"{english(phrase)}."

    def good(self) -> str:
        """A check passed by a yes, a figure that was confirmed."""
        return "Gut."

    # ------------------------------------------------------------------------------------------------------ bolts
    def group(self, name: str, count: int) -> str:
        """A bolt group where there are several: its name and how many bolts it has."""
        return f"{capital(self.number(Decimal(count)))} {GROUPS.get(name.casefold(), name)}"

    def snug(self, bolt: int, *, first: bool, group: str | None = None) -> str:
        """Ask for a bolt to be snugged; `group` (worded by `group`) where a snug pass begins and there are several."""
        if not first:
            return self.circle(bolt)
        return f"{group}. Nur handfest. {self.circle(bolt)}" if group else f"Nur handfest. {self.circle(bolt)}"

    def turn(self, bolt: int, setting: str) -> str:
        """Ask for a bolt with its figure: 'Schraube fünf, auf hundertachtzig.'"""
        return f"Schraube {self.number(Decimal(bolt))}, auf {setting}."

    def wrench_to(self, bolt: int, setting: str) -> str:
        """The same where the bolt gets another torque than the wrench shows."""
        return f"Schraube {self.number(Decimal(bolt))}. Schlüssel auf {setting}."

    def set_to(self, bolt: int, setting: str) -> str:
        """The same where a click wrench has to be set anew."""
        return f"Schraube {self.number(Decimal(bolt))}. Schlüssel einstellen auf {setting}."

    def bolt_gets(self, target: str, through: str) -> str:
        """What the bolt gets where the wrench shows another figure, and through what; the wrench's figure follows."""
        between = " und ".join(THROUGH.get(part, part) for part in through.split(" and "))
        return f"Schraubenwert {target}, über {between}."

    def bolt_gets_now(self, target: str) -> str:
        """What the bolt gets in the next pass, where it is known through what."""
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

    def circle(self, bolt: int) -> str:
        """Ask for a bolt whose figure has not changed."""
        return f"Schraube {self.number(Decimal(bolt))}."

    def moved_or_not(self, bolt: int) -> str:
        """The reading is in, the movement is not."""
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

    def clicked(self) -> str:
        """A click is read back as a click."""
        return "Geknackt."

    def held(self) -> str:
        """The nut did not move."""
        return "Hat gehalten."

    def moved(self) -> str:
        """The nut moved."""
        return "Ging weiter."

    def is_snug(self) -> str:
        """Snug is read back."""
        return "Handfest."

    def kept(self, bolt: int, value: Decimal) -> str:
        """Outside the window, kept with a reason."""
        return f"{self._bolt(bolt)} bleibt außerhalb der Toleranz. {capital(self.number(value))}."

    def entry(self, bolt: int, what: str) -> str:
        """An entry named: its bolt and what was recorded there."""
        return f"Schraube {self.number(Decimal(bolt))}, {what}"

    def taken_back(self, what: str) -> str:
        """A correction says which entry no longer counts."""
        return f"Zurückgenommen: {what}."

    def skipped(self, bolt: int) -> str:
        """Left for the end of the pass."""
        return f"Dann kommt sie am Schluss, Schraube {self.number(Decimal(bolt))}."

    def noted(self) -> str:
        """A note was kept."""
        return "Notiert."

    def last_round(self, rounds: int) -> str:
        """Nuts still move after the last round."""
        done = self.number(Decimal(rounds))
        return f"Stopp. Muttern gehen immer noch weiter. Hol jemanden, der die Ursache sucht. Runden bisher: {done}."

    def all_done(self) -> str:
        """Every pass has its entries."""
        return "Alle Schrauben fertig."
