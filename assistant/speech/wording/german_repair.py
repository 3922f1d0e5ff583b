"""What is said when something is unclear, or on request, in German."""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.wording.english_repair import EnglishRepair
from assistant.speech.wording.german_numbers import GermanNumbers, capital, english

TOLD = {
    "one-at-a-time": "Eine Schraube nach der anderen. Nenne ihren Wert.",
    "say-the-reading": "Nenne den Wert, den der Schlüssel zeigt.",
    "cannot-skip": "Dieser Schritt bleibt, auslassen geht nicht.",
    "nothing-back": "Vor dieser war keine Schraube.",
    "nothing-to-correct": "Noch nichts eingetragen.",
    "moved-or-not": "Sag „it moved“, oder „did not move“.",
    "yes-or-no": "Sag „yes“, „no“, oder den Wert noch einmal.",
    "not-clicked": "Dieser Schlüssel knackt nicht. Lies ihn ab.",
    "already-recorded": "Steht schon da. Ändern mit „correction“.",
    "say-resume": "Immer noch angehalten. Sag „resume“.",
    "nothing-same": "Noch kein Wert zum Wiederholen.",
    "unclear-range": "Bitte einen einzigen Wert, keinen Bereich.",
    "unclear-about": "Nicht ungefähr. Lies genau ab.",
    "unclear-two-values": "Das waren zwei Werte. Bitte nur einen.",
    "unclear-grouping": "Zwei Zahlen möglich. Sprich Ziffer für Ziffer.",
    "unclear-figures": "Zu viele Ziffern. Sprich die Zahl langsam.",
    "unclear-words": "Bitte nur einzelne Ziffern.",
    "unclear-unit": "Das ist kein Drehmoment. Einheit noch einmal.",
    "unclear-click": "Hat er geknackt, oder ist das abgelesen?",
    "keep-or-retighten": "Nachziehen, oder sag „keep“.",
    "which-bolt": "Welche Schraube? Sag ihre Nummer und „replaced“.",
    "say-the-figure": "Nenne die gemessene Zahl.",
    "not-sure": "Was willst du? Sag es bitte noch einmal.",
    "say-the-name": "Jetzt fehlt der Name der Person.",
    "supervisor-phrase": "Das kann nur die Aufsicht sagen. Sonst „no“.",
    "brief": "Ab jetzt kurz.",
    "normal": "Wieder wie gewohnt.",
    "full": "Ich sage dir alles.",
    "louder": "Ist das laut genug?",
    "quieter": "Jetzt leiser.",
    "slower": "Ab hier langsamer.",
    "faster": "Ab hier zügiger.",
}
"""Fixed answers by name."""

EQUIPMENT = {
    "sound-test": "Tonprobe. Sag jetzt: „one two“.",
    "listener-lost": "Eines meiner Ohren ist ausgefallen. Ich frage öfter nach.",
    "no-listener": "Ich höre nichts mehr. Alles ist gespeichert.",
    "hardly-heard": "Ich höre dich kaum. Mikrofon lauter, oder näher heran.",
    "overdriven": "Zu laut für das Mikrofon. Leiser stellen, oder weiter weg.",
    "too-noisy": "Hier ist es zu laut. Sprich direkt ins Mikrofon.",
    "fainter": "Ich höre dich schlechter als vorhin. Sieh nach dem Mikrofon.",
    "noisier": "Es ist lauter geworden. Sprich direkt ins Mikrofon.",
    "microphone-moved": "Jetzt hört ein anderes Mikrofon zu. Sieh nach dem Kopfhörer.",
    "microphone-back": "Dein Mikrofon ist wieder da.",
    "loudspeaker-moved": "Ich spreche jetzt aus einem anderen Lautsprecher. Sieh nach dem Kopfhörer.",
    "loudspeaker-back": "Ich spreche wieder aus deinem eigenen Lautsprecher.",
    "hears-itself": "Das Mikrofon hört den Lautsprecher. Warte, bis ich ausgeredet habe.",
    "no-sound": "Das Mikrofon gibt keinen Ton. Ist es stumm geschaltet?",
    "nobody-spoke": "Ich habe niemanden gehört. Sprich direkt ins Mikrofon.",
    "misheard": "Ich habe dich gehört, aber nicht verstanden. Sprich direkt ins Mikrofon.",
}
"""As in English."""

HELP = {
    "guiding": "Nenne den Wert. Oder: „say again, correction, skip, note, pause, stop“.",
    "snug": "Sag „snug“, wenn sie handfest ist. Oder: „skip, note, pause, stop“.",
    "clicks": "Sag „clicked“. Oder: „say again, correction, skip, note, pause, stop“.",
    "round": "Sag „it moved“ oder „did not move“. Oder „correction, note, stop“.",
    "question": "Oder: „say again, why, note, pause, stop“.",
    "asking": "Sag „yes“, „no“, oder wiederhole es.",
    "off-window": "Nachziehen und neu ablesen, oder „keep“.",
    "figures": "Sprich Ziffer für Ziffer.",
    "choosing": "Sag „one“ oder „two“.",
    "helper": "Tippe den Wert ein. Oder „pause“, dann „resume“.",
    "paused": "Weiter mit „resume“.",
    "stopped": "Weiter mit „resume“.",
    "measuring": "Nenne die gemessene Zahl. Oder: „say again, why, note, stop“.",
    "noting": "Sprich frei, ich schreibe mit.",
    "naming": "Nur den Namen, oder buchstabieren.",
    "waiting": "Sag „status, note, skip“ oder „leave it open“.",
    "asked-back": "Such dir eine aus.",
    "explaining": "Deine eigenen Worte genügen.",
    "supervisor": "Die Aufsicht sagt ihren Satz. Sonst „no“.",
    "reasoning": "Ein Satz genügt.",
}
"""What can be said, by state."""


class GermanRepair(GermanNumbers, EnglishRepair):
    """Rückfragen, Ablehnungen, Auskünfte: questions, refusals, answers on request."""

    told = TOLD
    equipment = EQUIPMENT
    help = HELP

    def is_it(self, value: Decimal, *, spell: bool, unit: str = "") -> str:
        """Read back as a question."""
        said = self.figures(value) if spell else "ein" if unit and value == 1 else self.number(value)
        return f"{capital(said)}{' ' + self.unit_words(unit) if unit else ''}?"

    def is_it_again(self, value: Decimal) -> str:
        """The same question in another form: questions never repeat themselves word for word."""
        return f"{english('Yes or no')}? Verstanden: {self.figures(value)}."

    def did_you_say(self, what: str) -> str:
        """A command that was not sure."""
        return f"Hast du gesagt: {english(what)}?"

    def did_you_say_again(self, what: str) -> str:
        """The same in another form."""
        return f"{english('Yes or no')}? Verstanden: {english(what)}."

    def take_back(self, entry: str) -> str:
        """A correction that was not sure: the entry that it would take back."""
        return f"Soll ich das zurücknehmen: {entry}?"

    def take_back_again(self, entry: str) -> str:
        """The same in another form."""
        return f"{english('Yes or no')}? Zurückgenommen würde {entry}."

    def _by(self, by: Decimal) -> str:
        """How far off, to a whole unit where it is ten and more, else as it is; '' for nothing."""
        rounded = by.quantize(Decimal(1)) if by >= 10 else by.normalize()
        return f" um {self.number(rounded)}" if rounded else ""

    def low(self, heard: str, by: Decimal, due: str, *, told: bool) -> str:
        """Below the window; the figure to pull to comes last, with its unit. `heard`: the reading in words."""
        keep = f"Sag {english('keep')}, oder zieh nach auf" if told else "Noch einmal, auf"
        return f"Verstanden: {heard}, zu wenig{self._by(by)}. {keep} {due}."

    def high(self, heard: str, by: Decimal, *, told: bool) -> str:
        """Above the window: nothing is backed off without the lead (common practice, no source)."""
        keep = f"Neu ablesen, oder sag {english('keep')}." if told else f"Neu ablesen, oder {english('keep')}."
        return f"Verstanden: {heard}, zu viel{self._by(by)}. Nicht lösen. {keep}"

    def that_is(self, said: str, converted: str) -> str:
        """A figure in the unit that it was said in, and in the wrench's."""
        return f"{said}, das sind {converted}"

    def last_pass_setting(self, due: str) -> str:
        """The reading is the setting of the pass before."""
        return f"Das war die Stufe davor. Jetzt auf {due}."

    def impossible(self, value: Decimal, reason: str, hint_unit: str, due: Decimal | None) -> str:
        """Say what was heard and ask again."""
        heard = f"Verstanden: {self.number(value)}."
        if reason == "no-reading-due" or due is None:
            return f"{heard} Jetzt ist kein Wert gefragt."
        if reason == "unit":
            return f"{heard} In {self.unit_words(hint_unit)}? Nenne Wert und Einheit."
        if reason == "tool-range":
            return f"{heard} Das zeigt dieser Schlüssel nicht. Lies noch einmal ab."
        return f"{heard} Kann nicht stimmen. Lies noch einmal ab. Soll: {self.number(due)}."

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
        return f"Bitte den ganzen Satz: {english(phrase)}."

    def yes_is_enough(self) -> str:
        """A check that a plain yes passes."""
        return f"Sag einfach {english('yes')} oder {english('no')}."

    def choose_answer(self, answers: tuple[str, ...]) -> str:
        """A question whose answers are named: one of them is needed."""
        return f"Was davon: {', '.join(map(english, answers[:-1]))} oder {english(answers[-1])}?"

    def again(self, said: str) -> str:
        """What was just said has to be said anew: not word for word."""
        return f"Noch einmal. {said}"

    def not_now(self, request: str) -> str:
        """Said at a moment that it does not fit; `request` says what does."""
        return f"Noch nicht. {request}"

    def once_more(self, phrase: str) -> str:
        """The agreed phrase was heard, not surely enough."""
        return f"Noch einmal bitte: {english(phrase)}."

    def wrong_answer(self, answer: str) -> str:
        """A check was answered with what the plan does not rest on."""
        return f"{english(answer)}: darauf ist das Moment nicht ausgelegt. Halt an, hol den Vorarbeiter."

    def wrong_tool(self, answer: str, planned: str) -> str:
        """Another wrench, scale or multiplier than the plan's."""
        return f"{english(answer)}? Geplant ist {english(planned)}. Hol das, oder den Vorarbeiter."

    def wrong_state(self, answer: str) -> str:
        """A check or hold point was answered with what must not be."""
        return f"{english(answer)}. Dann hier anhalten, hol den Vorarbeiter."

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
            return "Bleibt außerhalb der Toleranz. Warum?"
        return "Warum diese Schraube auslassen?"

    def note_please(self) -> str:
        """Ask for the note."""
        return "Sprich, ich schreibe mit."

    def paused(self) -> str:
        """Pausing."""
        return f"Pause. Weiter mit {english('resume')}."

    def stopped(self) -> str:
        """Stop said; nothing else until resume."""
        return f"Angehalten. Weiter mit {english('resume')}."

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
        return f"Ziehen auf {setting}."

    def where_question(self, name: str) -> str:
        """Name of the question that is due."""
        return f"Offen ist: {name}."

    def where_pass(self, kind: str, pass_number: int, round_number: int, bolt: int | None) -> str:
        """Name of the pass and bolt."""
        said = self.number(Decimal(round_number))
        names = {"snug": "Handfest", "circular": f"Kontrollrunde {said}", "seat": f"Klopfrunde {said}"}
        named = names.get(kind, f"Stufe {self.number(Decimal(pass_number))}")
        return f"{named}, Schraube {self.number(Decimal(bolt))}." if bolt is not None else f"{named}."
