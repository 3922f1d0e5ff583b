"""What is said around the bolts, in German: tools, waits, measurements, names, replaced parts, beside an apprentice."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from typing_extensions import override

from assistant.events import (
    AnsweredBack,
    EntryTakenBack,
    Event,
    FindingMade,
    MeasurementRefused,
    OtherBoltNamed,
    QuestionRefused,
    ReadingImpossible,
    ReadingOutside,
    SupervisorAsked,
)
from assistant.speech.wording.english_course import EnglishCourse
from assistant.speech.wording.german_guiding import GROUPS
from assistant.speech.wording.german_numbers import GermanNumbers, capital, english, role_words

FAMILIES = {
    "cross": "über Kreuz",
    "star": "über Kreuz",
    "modified cross": "über Kreuz, die erste Stufe ansteigend",
    "four points": "an vier Punkten, dann der Reihe nach",
    "quadrant": "von Viertel zu Viertel",
    "circular": "der Reihe nach",
    "groups": "in Gruppen über Kreuz",
    "line": "von der Mitte nach außen",
    "rectangle": "von der Mitte nach außen, immer gegenüber",
    "clamp": "wechselweise gegenüber",
    "split hub": "paarweise über die Nabe",
}
"""The order families of `bolting.tightening.pattern`."""
MOMENTS: Mapping[type[Event], str] = {
    AnsweredBack: "eine falsche Antwort",
    QuestionRefused: "ein Satz, der nicht gereicht hat",
    ReadingOutside: "ein Wert außerhalb der Grenzen",
    ReadingImpossible: "eine Zahl, die nicht sein konnte",
    OtherBoltNamed: "eine andere Schraube als dran war",
    EntryTakenBack: "ein gestrichener Eintrag",
    SupervisorAsked: "ein Schritt, den du auslassen wolltest",
    MeasurementRefused: "ein Messwert außerhalb der Grenzen",
    FindingMade: "etwas, das nicht in Ordnung war",
}


class GermanCourse(GermanNumbers, EnglishCourse):
    """Der Ablauf vom Erlaubnisschein bis zum Abschluss: the course of the work from permit to close."""

    moments = MOMENTS

    # ------------------------------------------------------------------------------------------------- laying out
    def cautions(self) -> tuple[str, ...]:
        """As in English."""
        return (
            "Herstelleranleitung, Baustellenregeln und örtliche Vorschriften gehen vor.",
            "Ziehen, nicht drücken. Nie in die Richtung stellen, in die ein gespannter Bolzen fliegt. "
            "Hände weg vom Abstützarm.",
            "Nie unter Druck nachziehen, außer eine schriftliche Anweisung erlaubt es.",
        )

    @override
    def closing(self) -> str:
        return "Ist jedes Werkzeug gezählt?"

    @override
    def called_closing(self) -> str:
        return "Abschluss"

    @override
    def why_closing(self) -> str:
        return "Jetzt wird das Protokoll versiegelt, danach kommt nichts mehr hinein."

    @override
    def tool(self, group: str) -> str:
        return (
            f"Welcher Drehmomentschlüssel für die {GROUPS.get(group.casefold(), group)}?"
            if group
            else "Welcher Drehmomentschlüssel?"
        )

    @override
    def tool_scale(self, wrench: str) -> str:
        return f"{capital(self.tool_name(wrench))}: welche Einheit?" if wrench else "Welche Einheit zeigt er?"

    @override
    def tool_label(self, wrench: str) -> str:
        return f"Prüfplakette von {self.tool_name(wrench)} gültig?" if wrench else "Prüfplakette gültig?"

    def tool_name(self, wrench: str) -> str:
        """How the question about a wrench is called; a wrench called by its number gets the German word."""
        number = re.fullmatch(r"wrench(es)? (.+)", wrench, flags=re.IGNORECASE)
        if number is None:
            return f"Schlüssel {wrench}"
        return f"Drehmomentschlüssel {number[2]}".replace(" to ", " bis ").replace(" and ", " und ")

    @override
    def tool_scale_name(self, wrench: str) -> str:
        return f"Skala von {self.tool_name(wrench)}"

    @override
    def tool_label_name(self, wrench: str) -> str:
        return f"Prüfplakette von {self.tool_name(wrench)}"

    @override
    def multiplier(self, group: str) -> str:
        return f"Drehmomentvervielfältiger für die {GROUPS.get(group.casefold(), group)}: welche Nummer?"

    @override
    def multiplier_name(self, multiplier: str) -> str:
        return multiplier.replace("multiplier", "Drehmomentvervielfältiger")

    @override
    def why_multiplier(self) -> str:
        return "Ein anderer Vervielfältiger macht aus der richtigen Einstellung den falschen Schraubenwert."

    @override
    def why_tool(self) -> str:
        return "Jeder Wert, den ich sage, gilt auf der Skala dieses Schlüssels."

    @override
    def why_snug(self) -> str:
        return "Handfest legt die Flächen gleichmäßig an, bevor Last darauf kommt."

    @override
    def why_pattern(self, share: Decimal, family: str) -> str:
        order = FAMILIES.get(family, english(family))
        return f"{capital(self.number(share))} Prozent vom vollen Wert, {order}, damit die Last gleichmäßig kommt."

    @override
    def why_circular(self) -> str:
        return "Jede Schraube entlastet ihre Nachbarn. Wir gehen reihum, bis keine Mutter mehr weitergeht."

    @override
    def why_seat(self) -> str:
        return "Reibung hält einen Teil der Last fest. Der Schlag löst sie, darum ziehen wir nach, bis es hält."

    @override
    def review(self, bolts: tuple[int, ...]) -> str:
        named = [self.number(Decimal(bolt)) for bolt in bolts]
        which = ("die Schrauben " if len(named) > 1 else "Schraube ") + ", ".join(named)
        which = which if len(named) <= 3 else f"{self.number(Decimal(len(named)))} Schrauben"
        return f"Der Vorarbeiter will {which} noch einmal, danach eine Kontrollrunde. Bereit?"

    @override
    def called_review(self) -> str:
        return "Prüfung"

    @override
    def why_review(self) -> str:
        return "Der Vorarbeiter hat das Protokoll durchgesehen und will diese Schrauben noch einmal."

    # ---------------------------------------------------------------------------------------------- tap, teams, places
    @override
    def seat_begins(self, round_number: int, group: str | None, tap: str, *, told: bool) -> str:
        whose = f"{group}. " if group else ""
        if round_number > 1:
            return f"{whose}Eine Mutter ging weiter. Schlagen und ziehen, Runde {self.number(Decimal(round_number))}."
        answers = f" Sag {english('it moved')} oder {english('did not move')}." if told else ""
        return f"{whose}{tap} Dann wieder ziehen.{answers}"

    @override
    def together(self, bolts: tuple[int, ...], setting: str | None) -> str:
        named = ", ".join(self.number(Decimal(bolt)) for bolt in bolts)
        return f"Schrauben {named}, gemeinsam{f', auf {setting}' if setting else ''}."

    @override
    def reading_of(self, bolt: int) -> str:
        return f"Und Schraube {self.number(Decimal(bolt))}?"

    @override
    def place(self, where: str) -> str:
        return f"{capital(where)}."

    # ------------------------------------------------------------------------------------------------ waits, figures
    @override
    def duration(self, seconds: int) -> str:
        minutes = max(1, round(seconds / 60))
        days, minutes = divmod(minutes, 24 * 60)
        hours, minutes = divmod(minutes, 60)
        parts = [(days, "ein Tag", "Tage"), (hours, "eine Stunde", "Stunden"), (minutes, "eine Minute", "Minuten")]
        said = [one if n == 1 else f"{self.number(Decimal(n))} {more}" for n, one, more in parts if n]
        return " ".join(said[:2])

    @override
    def wait_begins(self, name: str, seconds: int, *, told: bool) -> str:
        more = f" Ich melde mich. Oder sag: {english('leave it open')}." if told else ""
        return f"{capital(name)}: {self.duration(seconds)}.{more}"

    @override
    def wait_goes_on(self, name: str, seconds: int) -> str:
        return f"{capital(name)}: noch {self.duration(seconds)}."

    @override
    def clock_counted(self) -> str:
        return "Die Uhr wurde gestellt. Die Wartezeit zählt ohne sie."

    @override
    def clock_asked(self, seconds: int) -> str:
        return f"Ich war aus, und die Uhr wurde gestellt. Ist die Wartezeit um: {self.duration(seconds)}?"

    @override
    def off_the_record(self) -> str:
        return f"Ab jetzt wird kein Ton behalten. Zurück: sag {english('on the record')}."

    @override
    def on_the_record(self) -> str:
        return "Der Ton wird wieder behalten."

    @override
    def wait_over(self, name: str) -> str:
        return f"{capital(name)} ist vorbei."

    @override
    def wait_cut_short(self, name: str) -> str:
        return f"{capital(name)} abgebrochen. Grund notiert."

    def measure(self, ask: str, unit: str) -> str:
        """Ask for a figure that is no torque; of a pressure without its unit, as in English."""
        return f"{ask} Nur die Zahl." if unit == "bar" else f"{ask} In {self.unit_words(unit)}."

    @override
    def measured_outside(self, value: Decimal, unit: str, side: str, limit: Decimal) -> str:
        said = "Zu niedrig. Es braucht mindestens" if side == "low" else "Zu hoch. Erlaubt sind höchstens"
        heard = f"{capital(self.number(value))} {self.unit_words(unit)}."
        return f"{heard} {said} {self.number(limit)}."

    # ------------------------------------------------------------------------------------------------- names, parts
    @override
    def name_please(self, purpose: str, role: str) -> str:
        return {
            "tightens": "Wer zieht an?",
            "settles": "Wer gibt es frei?",
            "supervisor": "Wer beaufsichtigt?",
            "witness": f"{capital(role_words(role))}, wie ist dein Name?" if role else "Wer gibt frei?",
            "measured": "Wer hat gemessen?",
            "takes-over": "Wer übernimmt?",
            "competent": "Wer hat die Ursache gesucht?",
        }[purpose]

    @override
    def name_kept(self) -> str:
        return "Name gespeichert."

    @override
    def replaced(self, bolt: int) -> str:
        return f"Erst allein durch alle Stufen: neue Schraube {self.number(Decimal(bolt))}."

    @override
    def restarted(self, reason: str) -> str:
        if reason == "gasket":
            return "Neue Dichtung einlegen. Alles noch einmal, ab der Montage."
        return "Diese Stufe noch einmal, ab der ersten Schraube."

    # --------------------------------------------------------------------------------------------------- apprentice
    @override
    def caution(self, text: str) -> str:
        return f"Achtung. {text}"

    @override
    def explained(self, why: str, goes_wrong: str) -> str:
        return " ".join(part for part in (why, goes_wrong and f"Das geht schief: {goes_wrong}") if part)

    @override
    def which_bolt_next(self, first: int, *, again: bool) -> str:
        return self.asked_back(f"Welche Schraube kommt nach Schraube {self.number(Decimal(first))}?", again=again)

    @override
    def asked_back(self, ask: str, *, again: bool) -> str:
        return f"{'Die Frage von vorhin' if again else 'Frage'}: {ask}"

    @override
    def right(self, because: str) -> str:
        return f"Richtig. {because}".strip()

    @override
    def wrong(self, answer: str, because: str) -> str:
        return f"Falsch, es ist {answer}. {because}".strip()

    @override
    def and_why(self) -> str:
        return "Und warum?"

    @override
    def compare(self, why: str) -> str:
        return f"Notiert. Der übliche Grund: {why}" if why else "Notiert."

    @override
    def bolt_named(self, bolt: int) -> str:
        return f"Schraube {self.number(Decimal(bolt))}"

    @override
    def phrase_named(self, phrase: str) -> str:
        return english(phrase)

    @override
    def supervisor(self) -> str:
        return "Dafür brauchst du die Aufsicht. Aufsicht, sag deinen Satz."

    @override
    def debrief(self, moments: tuple[str, ...]) -> str:
        if not moments:
            return "Nichts nachzuarbeiten. Gut gemacht."
        return f"Schau dir noch einmal an: {'; '.join(moments)}."

    @override
    def moment(self, event: type[Event], bolt: int | None) -> str:
        what = MOMENTS[event]
        return f"{what}, Schraube {self.number(Decimal(bolt))}" if bolt is not None else what
