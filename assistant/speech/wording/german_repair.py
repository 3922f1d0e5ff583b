"""What is said when something is unclear, or on request, in German."""

from __future__ import annotations

from decimal import Decimal

from typing_extensions import override

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

    @override
    def is_it(self, value: Decimal, *, spell: bool, unit: str = "") -> str:
        said = self.figures(value) if spell else "ein" if unit and value == 1 else self.number(value)
        return f"{capital(said)}{' ' + self.unit_words(unit) if unit else ''}?"

    @override
    def is_it_again(self, value: Decimal) -> str:
        return f"{english('Yes or no')}? Verstanden: {self.figures(value)}."

    @override
    def did_you_say(self, what: str) -> str:
        return f"Hast du gesagt: {english(what)}?"

    @override
    def did_you_say_again(self, what: str) -> str:
        return f"{english('Yes or no')}? Verstanden: {english(what)}."

    @override
    def take_back(self, entry: str) -> str:
        return f"Soll ich das zurücknehmen: {entry}?"

    @override
    def take_back_again(self, entry: str) -> str:
        return f"{english('Yes or no')}? Zurückgenommen würde {entry}."

    def _by(self, by: Decimal) -> str:
        """How far off, to a whole unit where it is ten and more, else as it is; '' for nothing."""
        rounded = by.quantize(Decimal(1)) if by >= 10 else by.normalize()
        return f" um {self.number(rounded)}" if rounded else ""

    @override
    def low(self, heard: str, by: Decimal, due: str, *, told: bool) -> str:
        keep = f"Sag {english('keep')}, oder zieh nach auf" if told else "Noch einmal, auf"
        return f"Verstanden: {heard}, zu wenig{self._by(by)}. {keep} {due}."

    @override
    def high(self, heard: str, by: Decimal, *, told: bool) -> str:
        keep = f"Neu ablesen, oder sag {english('keep')}." if told else f"Neu ablesen, oder {english('keep')}."
        return f"Verstanden: {heard}, zu viel{self._by(by)}. Nicht lösen. {keep}"

    @override
    def that_is(self, said: str, converted: str) -> str:
        return f"{said}, das sind {converted}"

    @override
    def last_pass_setting(self, due: str) -> str:
        return f"Das war die Stufe davor. Jetzt auf {due}."

    @override
    def impossible(self, value: Decimal, reason: str, hint_unit: str, due: Decimal | None) -> str:
        heard = f"Verstanden: {self.number(value)}."
        if reason == "no-reading-due" or due is None:
            return f"{heard} Jetzt ist kein Wert gefragt."
        if reason == "unit":
            return f"{heard} In {self.unit_words(hint_unit)}? Nenne Wert und Einheit."
        if reason == "tool-range":
            return f"{heard} Das zeigt dieser Schlüssel nicht. Lies noch einmal ab."
        return f"{heard} Kann nicht stimmen. Lies noch einmal ab. Soll: {self.number(due)}."

    @override
    def other_bolt(self, named: int, due: int | None) -> str:
        if due is None:
            return "Jetzt ist keine Schraube dran."
        return f"Du sagtest Schraube {self.number(Decimal(named))}. Dran ist {self.number(Decimal(due))}."

    @override
    def yes_or_no(self, *, again: bool) -> str:
        if again:
            return f"{english('Yes or no')}? Oder sag es noch einmal."
        return f"Sag {english('yes')}, oder wiederhole es."

    @override
    def say_again_please(self, count: int) -> str:
        return ("Sag das noch einmal.", "Nicht verstanden. Bitte wiederholen.")[count % 2]

    @override
    def whole_phrase(self, phrase: str) -> str:
        return f"Bitte den ganzen Satz: {english(phrase)}."

    @override
    def yes_is_enough(self) -> str:
        return f"Sag einfach {english('yes')} oder {english('no')}."

    @override
    def choose_answer(self, answers: tuple[str, ...]) -> str:
        return f"Was davon: {', '.join(map(english, answers[:-1]))} oder {english(answers[-1])}?"

    @override
    def again(self, said: str) -> str:
        return f"Noch einmal. {said}"

    @override
    def not_now(self, request: str) -> str:
        return f"Noch nicht. {request}"

    @override
    def once_more(self, phrase: str) -> str:
        return f"Noch einmal bitte: {english(phrase)}."

    @override
    def wrong_answer(self, answer: str) -> str:
        return f"{english(answer)}: darauf ist das Moment nicht ausgelegt. Halt an, hol den Vorarbeiter."

    @override
    def wrong_tool(self, answer: str, planned: str) -> str:
        return f"{english(answer)}? Geplant ist {english(planned)}. Hol das, oder den Vorarbeiter."

    @override
    def wrong_state(self, answer: str) -> str:
        return f"{english(answer)}. Dann hier anhalten, hol den Vorarbeiter."

    @override
    def figures_please(self, bolt: int | None) -> str:
        if bolt is None:
            return "Sprich Ziffer für Ziffer."
        return f"Ziffer für Ziffer, Schraube {self.number(Decimal(bolt))}."

    @override
    def choose(self, one: str, two: str) -> str:
        return f"Sag {english('one')} für {one}. Sag {english('two')} für {two}."

    @override
    def helper(self) -> str:
        return "Ich verstehe dich nicht. Jemand an die Tastatur, bitte."

    @override
    def reason_please(self, purpose: str) -> str:
        if purpose == "cut-short":
            return "Warum nicht abwarten? Nenne den Grund."
        if purpose == "keep":
            return "Bleibt außerhalb der Toleranz. Warum?"
        return "Warum diese Schraube auslassen?"

    @override
    def note_please(self) -> str:
        return "Sprich, ich schreibe mit."

    @override
    def paused(self) -> str:
        return f"Pause. Weiter mit {english('resume')}."

    @override
    def stopped(self) -> str:
        return f"Angehalten. Weiter mit {english('resume')}."

    @override
    def resumed(self) -> str:
        return "Es geht weiter."

    @override
    def hand_over(self, where: str) -> str:
        return f"Übergabe. {where} Wer übernimmt, sagt: {english('resume')}."

    @override
    def status(self, where: str, done: int, of: int) -> str:
        return f"{where} Fertig {self.number(Decimal(done))} von {self.number(Decimal(of))}."

    @override
    def due(self, setting: str) -> str:
        return f"Ziehen auf {setting}."

    @override
    def where_question(self, name: str) -> str:
        return f"Offen ist: {name}."

    @override
    def where_pass(self, kind: str, pass_number: int, round_number: int, bolt: int | None) -> str:
        said = self.number(Decimal(round_number))
        names = {"snug": "Handfest", "circular": f"Kontrollrunde {said}", "seat": f"Klopfrunde {said}"}
        named = names.get(kind, f"Stufe {self.number(Decimal(pass_number))}")
        return f"{named}, Schraube {self.number(Decimal(bolt))}." if bolt is not None else f"{named}."
