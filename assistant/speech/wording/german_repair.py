"""What is said when something is unclear, or on request, in German."""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.wording.english_repair import EnglishRepair
from assistant.speech.wording.german_numbers import GermanNumbers, capital, english

TOLD = {
    "one-at-a-time": "Eine Schraube nach der anderen. Nenne ihren Wert.",
    "say-the-reading": "Nenne den Wert, den der Schlüssel zeigt.",
    "not-now": "Das passt jetzt nicht.",
    "cannot-skip": "Dieser Schritt bleibt, auslassen geht nicht.",
    "nothing-back": "Davor war keine Schraube.",
    "nothing-to-correct": "Noch nichts eingetragen.",
    "moved-or-not": "Sag „it moved“, oder „did not move“.",
    "yes-or-no": "Sag „yes“, „no“, oder den Wert noch einmal.",
    "not-clicked": "Dieser Schlüssel knackt nicht. Lies ihn ab.",
    "already-recorded": "Steht schon da. Ändern mit „correction“.",
    "say-resume": "Wir stehen still. Weiter mit „resume“.",
    "nothing-same": "Es gibt keinen Wert zum Wiederholen. Lies ab.",
    "unclear-range": "Bitte einen einzigen Wert, keinen Bereich.",
    "unclear-about": "Nicht ungefähr. Lies genau ab.",
    "unclear-two-values": "Das waren zwei Werte. Bitte nur einen.",
    "unclear-grouping": "Zwei Zahlen möglich. Sprich Ziffer für Ziffer.",
    "unclear-figures": "Zu viele Ziffern. Sprich die Zahl langsam.",
    "unclear-words": "Bitte nur einzelne Ziffern.",
    "unclear-unit": "Das ist kein Drehmoment. Einheit noch einmal.",
    "unclear-click": "Geknackt oder abgelesen? Sag nur eins davon.",
    "keep-or-retighten": "Nachziehen, oder sag „keep“.",
    "which-bolt": "Welche Schraube? Sag ihre Nummer und „replaced“.",
    "say-the-figure": "Nenne die gemessene Zahl.",
    "not-sure": "Was willst du? Sag es bitte noch einmal.",
    "say-the-name": "Jetzt fehlt der Name der Person.",
    "answer-first": "Beantworte zuerst die Frage.",
    "supervisor-phrase": "Hier zählt nur der Satz der Aufsicht. Sonst „no“.",
}
"""Fixed answers by name."""

EQUIPMENT = {
    "listener-lost": "Eines meiner Ohren ist ausgefallen. Ich frage öfter nach.",
    "no-listener": "Ich höre nichts mehr. Alles ist gespeichert.",
}
"""As in English."""

HELP = {
    "guiding": "Nenne den Wert. Oder: „say again, correction, skip, note, pause, stop“.",
    "question": "Sag den vereinbarten Satz. Oder: „say again, why, note, pause, stop“.",
    "asking": "Sag „yes“, „no“, oder den Wert noch einmal.",
    "off-window": "Nachziehen und neu ablesen, oder „keep“.",
    "figures": "Sprich Ziffer für Ziffer.",
    "choosing": "Sag „one“ oder „two“.",
    "helper": "Tippe den Wert ein. Oder „pause“, dann „resume“.",
    "paused": "Weiter mit „resume“.",
    "stopped": "Weiter mit „resume“.",
    "measuring": "Nenne die gemessene Zahl. Oder: „say again, why, note, stop“.",
    "noting": "Sprich frei, ich schreibe mit.",
    "naming": "Nenne den Namen der Person.",
    "waiting": "Sag „status, note, skip“ oder „leave it open“.",
    "asked-back": "Beantworte die Frage des Ausbilders.",
    "explaining": "Erkläre es in deinen eigenen Worten.",
    "supervisor": "Die Aufsicht sagt ihren Satz. Sonst „no“.",
    "reasoning": "Begründe, in einem Satz.",
}
"""What can be said, by state."""


class GermanRepair(GermanNumbers, EnglishRepair):
    """Rückfragen, Ablehnungen, Auskünfte: questions, refusals, answers on request."""

    told = TOLD
    equipment = EQUIPMENT
    help = HELP

    def is_it(self, value: Decimal, *, spell: bool, unit: str = "") -> str:
        """Read back as a question."""
        said = self.figures(value) if spell else self.number(value)
        return f"{capital(said)}{' ' + self.unit_words(unit) if unit else ''}?"

    def is_it_again(self, value: Decimal) -> str:
        """The same question in another form: questions never repeat themselves word for word."""
        return f"{english('Yes or no')}? Ich hörte {self.figures(value)}."

    def did_you_say(self, what: str) -> str:
        """A command that was not sure."""
        return f"Hast du gesagt: {english(what)}?"

    def did_you_say_again(self, what: str) -> str:
        """The same in another form."""
        return f"{english('Yes or no')}? Ich hörte {english(what)}."

    def take_back(self, entry: str) -> str:
        """A correction that was not sure: the entry that it would take back."""
        return f"Soll ich das streichen: {entry}?"

    def take_back_again(self, entry: str) -> str:
        """The same in another form."""
        return f"{english('Yes or no')}? Gestrichen würde {entry}."

    def low(self, bolt: int, value: Decimal, by: Decimal) -> str:
        """Below the window."""
        said = f"{self._bolt(bolt)} zeigt {self.number(value)}. Zu niedrig um {self.number(by)}."
        return f"{said} Nachziehen, oder sag {english('keep')}."

    def high(self, bolt: int, value: Decimal, by: Decimal) -> str:
        """Above the window: nothing is backed off without the lead (common practice, no source)."""
        said = f"{self._bolt(bolt)} zeigt {self.number(value)}. Zu hoch um {self.number(by)}."
        return f"{said} Nicht lösen. Neu ablesen, oder {english('keep')}."

    def last_pass_setting(self, value: Decimal) -> str:
        """The reading is the setting of the pass before."""
        return f"Das war die Stufe davor, prüf die Einstellung. Jetzt gilt: {self.number(value)}."

    def impossible(self, value: Decimal, reason: str, hint_unit: str, due: Decimal | None) -> str:
        """Say what was heard and ask again."""
        heard = f"Ich hörte {self.number(value)}."
        if reason == "no-reading-due" or due is None:
            return f"{heard} Jetzt ist kein Wert gefragt."
        if reason == "unit":
            return f"{heard} In {self.unit_words(hint_unit)}? Nenne Wert und Einheit."
        if reason == "tool-range":
            return f"{heard} Das zeigt dieser Schlüssel nicht. Lies noch einmal ab."
        return f"{heard} Zu weit weg. Lies noch einmal ab. Gefordert: {self.number(due)}."

    def other_bolt(self, named: int, due: int | None) -> str:
        """Another bolt was named."""
        if due is None:
            return "Jetzt ist keine Schraube dran."
        return f"Du sagtest Schraube {self.number(Decimal(named))}. Dran ist {self.number(Decimal(due))}."

    def yes_or_no(self, *, again: bool) -> str:
        """A yes that was not sure: the value or phrase itself is heard better than the short word."""
        if again:
            return f"{english('Yes or no')}? Oder sag es noch einmal."
        return f"Sag {english('yes')}, oder wiederhole es."

    def say_again_please(self, count: int) -> str:
        """Not understood; changes its words."""
        return ("Sag das noch einmal.", "Nicht verstanden. Bitte wiederholen.")[count % 2]

    def whole_phrase(self, phrase: str) -> str:
        """The agreed phrase is needed."""
        return f"Es braucht den ganzen Satz: {english(phrase)}."

    def again(self, said: str) -> str:
        """What was just said has to be said anew: not word for word."""
        return f"Noch einmal. {said}"

    def out_of_order(self, where: str) -> str:
        """A phrase that belongs to another moment; `where` says what is due."""
        return f"Das kommt später oder war schon. {where}"

    def once_more(self, phrase: str) -> str:
        """The agreed phrase was heard, not surely enough."""
        return f"Noch einmal bitte: {english(phrase)}."

    def wrong_answer(self, answer: str, phrase: str) -> str:
        """A check was answered with what the plan does not rest on."""
        return f"Du sagst {english(answer)}. Nötig ist {english(phrase)}. Halt an, frag den Vorarbeiter."

    def figures_please(self, bolt: int | None) -> str:
        """Ask figure by figure."""
        if bolt is None:
            return "Sprich Ziffer für Ziffer."
        return f"Ziffer für Ziffer, Schraube {self.number(Decimal(bolt))}."

    def choose(self, one: str, two: str) -> str:
        """Two numbered choices."""
        return f"Sag {english('one')} für {one}. Sag {english('two')} für {two}."

    def helper(self) -> str:
        """The last resort."""
        return "Ich verstehe dich nicht. Jemand an die Tastatur, bitte."

    def reason_please(self, purpose: str) -> str:
        """Ask for a reason in free speech."""
        if purpose == "cut-short":
            return "Warum nicht abwarten? Nenne den Grund."
        if purpose == "keep":
            return "Wert bleibt außerhalb der Grenzen: aus welchem Grund?"
        return "Warum diese Schraube auslassen? Nenne den Grund."

    def note_please(self) -> str:
        """Ask for the note."""
        return "Sprich jetzt, ich schreibe mit."

    def paused(self) -> str:
        """Pausing."""
        return f"Pause. Weiter mit {english('resume')}."

    def stopped(self) -> str:
        """Stop said; nothing else until resume."""
        return f"Angehalten, alles steht. Weiter mit {english('resume')}."

    def resumed(self) -> str:
        """Going on."""
        return "Es geht weiter."

    def hand_over(self, where: str) -> str:
        """Spoken state for the next person."""
        return f"Übergabe. {where} Wer übernimmt, sagt: {english('resume')}."

    def status(self, where: str, done: int, of: int) -> str:
        """Where we are."""
        return f"{where} Fertig {self.number(Decimal(done))} von {self.number(Decimal(of))}."

    def due(self, setting: str) -> str:
        """What is due, with its unit."""
        return f"Gefordert: {setting}."

    def where_question(self, name: str) -> str:
        """Name of the question that is due."""
        return f"Offen ist: {name}."

    def where_pass(self, kind: str, pass_number: int, round_number: int, bolt: int | None) -> str:
        """Name of the pass and bolt."""
        said = self.number(Decimal(round_number))
        names = {"snug": "Handfest", "circular": f"Rundgang {said}", "seat": f"Setzen, Runde {said}"}
        named = names.get(kind, f"Stufe {self.number(Decimal(pass_number))}")
        return f"{named}, Schraube {self.number(Decimal(bolt))}." if bolt is not None else f"{named}."
