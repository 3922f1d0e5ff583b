"""What the assistant says while somebody practises: playing the joint, and teaching how to be heard."""

from __future__ import annotations

from typing_extensions import override

from assistant.speech.wording.german_numbers import english


class EnglishPractice:
    """English sentences of a practice."""

    def opening(self) -> str:
        """First words of a practice."""
        return "Practice: I play the joint. When something is wrong, say stop."

    def reads(self, amount: str) -> str:
        """What the wrench shows."""
        return f"Your wrench reads {amount}."

    def clicks(self) -> str:
        """A click wrench lets go."""
        return "Your wrench clicks."

    def snug(self) -> str:
        """The nut is against the face."""
        return "It is snug."

    def nut(self, *, moved: bool) -> str:
        """Whether the nut went on turning at full value."""
        return "The nut turned a little." if moved else "The nut stands still."

    def seen(self) -> str:
        """All is as it is asked for."""
        return "You check: it looks right."

    def sees(self, what: str) -> str:
        """The state that is asked for."""
        return f"You see: {what}."

    def shows(self, amount: str) -> str:
        """What the thermometer or gauge shows."""
        return f"You measure {amount}."

    def time_passes(self) -> str:
        """A wait is skipped."""
        return "In practice the time is over at once."

    def slip(self, name: str, *, other: str, unit: str) -> str:
        """A situation in which something is wrong; `other` is a bolt that is not due, `unit` a wrong unit."""
        return {
            "wrong-unit": f"The sheet in your hand is in {unit}.",
            "missed-bolt": f"Your wrench sits on bolt {other}.",
            "dry-torque": "The threads shine with paste. Your wrench is set to the value for dry threads.",
            "calibration": "The label on your wrench: calibration ran out last month.",
        }[name]

    def caught(self, name: str) -> str:
        """It was noticed in time; how it is put right."""
        return {
            "wrong-unit": "Well caught: the unit was wrong. You get the right sheet.",
            "missed-bolt": "Well caught: the wrong bolt. You move to the right one.",
            "dry-torque": "Well caught: dry value on coated threads. You set the right one.",
            "calibration": "Well caught: calibration ran out. You get another wrench.",
        }[name]

    def nothing_wrong(self) -> str:
        """Stopped where nothing was wrong."""
        return "Nothing was wrong here. Better once too often, but look first."

    def slip_named(self, name: str) -> str:
        """What was wrong, in a few words."""
        return {
            "wrong-unit": "the wrong unit",
            "missed-bolt": "the wrong bolt",
            "dry-torque": "the dry value on coated threads",
            "calibration": "the calibration",
        }[name]

    def last_time(self, missed: tuple[str, ...]) -> str:
        """What was missed at earlier joints and nobody has gone through yet."""
        return f"Last time you missed: {', '.join(missed)}. Watch for it today."

    # ------------------------------------------------------------------------------------------- learning to talk to it
    def lesson_opening(self) -> str:
        """First words of the two minutes."""
        return "Say each word back, as you will at work."

    def say_back(self, word: str) -> str:
        """A word to be said."""
        return f"Say: {word}."

    def try_instead(self, form: str) -> str:
        """The word was not heard surely: another form of it."""
        return f"Not sure. Try: {form}."

    def lesson_end(self, better: tuple[tuple[str, str], ...], hard: tuple[str, ...]) -> str:
        """What to remember."""
        if not better and not hard:
            return "All of it was heard. You can go to work."
        parts = [self.remember(better)] if better else []
        if hard:
            parts.append(f"Hard to hear: {', '.join(hard)}. Say them slowly, near the microphone.")
        return " ".join(parts)

    def remember(self, better: tuple[tuple[str, str], ...]) -> str:
        """Which form is heard better."""
        return " ".join(f"For {word}, say: {form}." for word, form in better)

    def debrief(self, caught: int, of: int, missed: tuple[str, ...], misread: int, stops: int) -> str:
        """Last words of a practice."""
        parts = [f"You caught {caught} of {of}."]
        if missed:
            parts.append(f"Missed: {', '.join(self.slip_named(each) for each in missed)}.")
        if misread:
            parts.append(f"Called wrong: {misread}.")
        if stops:
            parts.append(f"Stopped for nothing: {stops}.")
        return " ".join(parts)


class GermanPractice(EnglishPractice):
    """The same in German."""

    @override
    def opening(self) -> str:
        return "Übung: Ich spiele die Verbindung. Wenn etwas nicht stimmt, sag „stop“."

    @override
    def reads(self, amount: str) -> str:
        return f"Dein Schlüssel zeigt {amount}."

    @override
    def clicks(self) -> str:
        return "Dein Schlüssel knackt."

    @override
    def snug(self) -> str:
        return "Sie ist handfest."

    @override
    def nut(self, *, moved: bool) -> str:
        return "Die Mutter hat sich noch gedreht." if moved else "Die Mutter steht."

    @override
    def seen(self) -> str:
        return "Du prüfst: Es sieht richtig aus."

    @override
    def sees(self, what: str) -> str:
        return f"Du siehst: „{what}“."

    @override
    def shows(self, amount: str) -> str:
        return f"Du misst {amount}."

    @override
    def time_passes(self) -> str:
        return "In der Übung ist die Zeit gleich vorbei."

    @override
    def slip(self, name: str, *, other: str, unit: str) -> str:
        return {
            "wrong-unit": f"Das Blatt in deiner Hand gilt in {unit}.",
            "missed-bolt": f"Dein Schlüssel sitzt auf Schraube {other}.",
            "dry-torque": "Die Gewinde glänzen von Paste. Dein Schlüssel steht auf dem Wert für trockene Gewinde.",
            "calibration": "Das Schild am Schlüssel: Kalibrierung letzten Monat abgelaufen.",
        }[name]

    @override
    def caught(self, name: str) -> str:
        return {
            "wrong-unit": "Gut gemerkt: falsche Einheit. Du bekommst das richtige Blatt.",
            "missed-bolt": "Gut gemerkt: falsche Schraube. Du setzt auf die richtige um.",
            "dry-torque": "Gut gemerkt: trockener Wert auf Paste. Du stellst den richtigen ein.",
            "calibration": "Gut gemerkt: Kalibrierung abgelaufen. Du bekommst einen anderen Schlüssel.",
        }[name]

    @override
    def nothing_wrong(self) -> str:
        return "Hier war nichts falsch. Lieber einmal zu oft, aber schau erst hin."

    @override
    def slip_named(self, name: str) -> str:
        return {
            "wrong-unit": "die falsche Einheit",
            "missed-bolt": "die falsche Schraube",
            "dry-torque": "der trockene Wert auf Paste",
            "calibration": "die Kalibrierung",
        }[name]

    @override
    def last_time(self, missed: tuple[str, ...]) -> str:
        return f"Letztes Mal übersehen: {', '.join(missed)}. Achte heute darauf."

    # ------------------------------------------------------------------------------------------- learning to talk to it
    @override
    def lesson_opening(self) -> str:
        return "Sprich jedes Wort nach, so wie bei der Arbeit."

    @override
    def say_back(self, word: str) -> str:
        return f"Sag: {english(word)}."

    @override
    def try_instead(self, form: str) -> str:
        return f"Nicht sicher. Probier: {english(form)}."

    @override
    def lesson_end(self, better: tuple[tuple[str, str], ...], hard: tuple[str, ...]) -> str:
        if not better and not hard:
            return "Alles verstanden. Du kannst anfangen."
        parts = [self.remember(better)] if better else []
        if hard:
            parts.append(f"Schwer zu hören: {', '.join(map(english, hard))}. Sprich das langsam, nah am Mikrofon.")
        return " ".join(parts)

    @override
    def remember(self, better: tuple[tuple[str, str], ...]) -> str:
        return " ".join(f"Statt {english(word)} sag: {english(form)}." for word, form in better)

    @override
    def debrief(self, caught: int, of: int, missed: tuple[str, ...], misread: int, stops: int) -> str:
        parts = [f"Du hast {caught} von {of} gemerkt."]
        if missed:
            parts.append(f"Übersehen: {', '.join(self.slip_named(each) for each in missed)}.")
        if misread:
            parts.append(f"Falsch angesagt: {misread}.")
        if stops:
            parts.append(f"Ohne Grund gestoppt: {stops}.")
        return " ".join(parts)


_CATALOGUES = {"en": EnglishPractice(), "de": GermanPractice()}


def practice_words(language: str) -> EnglishPractice:
    """The sentences of a practice in a language of `wording.LANGUAGES`."""
    return _CATALOGUES[language]
