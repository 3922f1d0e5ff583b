"""What is said around the bolts, in German: tools, waits, measurements, names, replaced parts, beside an apprentice."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

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

    def closing(self) -> str:
        """The last question of every joint."""
        return "Ist jedes Werkzeug gezählt?"

    def called_closing(self) -> str:
        """What the last question is called."""
        return "Abschluss"

    def why_closing(self) -> str:
        """Why it is asked."""
        return "Jetzt wird das Protokoll versiegelt, danach kommt nichts mehr hinein."

    def tool(self, group: str) -> str:
        """Ask which wrench it is; `group` where there are several."""
        return (
            f"Welcher Drehmomentschlüssel für die {GROUPS.get(group.casefold(), group)}?"
            if group
            else "Welcher Drehmomentschlüssel?"
        )

    def tool_scale(self, wrench: str) -> str:
        """Ask for the unit of a wrench's scale; `wrench` where it was not asked for."""
        return f"{capital(self.tool_name(wrench))}: welche Einheit?" if wrench else "Welche Einheit zeigt er?"

    def tool_label(self, wrench: str) -> str:
        """Ask for the calibration label; `wrench` as there."""
        return f"Prüfplakette von {self.tool_name(wrench)} gültig?" if wrench else "Prüfplakette gültig?"

    def tool_name(self, wrench: str) -> str:
        """How the question about a wrench is called; a wrench called by its number gets the German word."""
        number = re.fullmatch(r"wrench(es)? (.+)", wrench, flags=re.IGNORECASE)
        if number is None:
            return f"Schlüssel {wrench}"
        return f"Drehmomentschlüssel {number[2]}".replace(" to ", " bis ").replace(" and ", " und ")

    def tool_scale_name(self, wrench: str) -> str:
        """How the question about its scale is called."""
        return f"Skala von {self.tool_name(wrench)}"

    def tool_label_name(self, wrench: str) -> str:
        """How the question about its label is called."""
        return f"Prüfplakette von {self.tool_name(wrench)}"

    def multiplier(self, group: str) -> str:
        """Ask which multiplier it is."""
        return f"Drehmomentvervielfältiger für die {GROUPS.get(group.casefold(), group)}: welche Nummer?"

    def multiplier_name(self, multiplier: str) -> str:
        """How the question about it is called."""
        return multiplier.replace("multiplier", "Drehmomentvervielfältiger")

    def why_multiplier(self) -> str:
        """Why it is asked."""
        return "Ein anderer Vervielfältiger macht aus der richtigen Einstellung den falschen Schraubenwert."

    def why_tool(self) -> str:
        """Why it is asked."""
        return "Jeder Wert, den ich sage, gilt auf der Skala dieses Schlüssels."

    def why_snug(self) -> str:
        """Why snug comes first."""
        return "Handfest legt die Flächen gleichmäßig an, bevor Last darauf kommt."

    def why_pattern(self, share: Decimal, family: str) -> str:
        """Why this pass: its share of the full value, and the order."""
        order = FAMILIES.get(family, english(family))
        return f"{capital(self.number(share))} Prozent vom vollen Wert, {order}, damit die Last gleichmäßig kommt."

    def why_circular(self) -> str:
        """Why all round."""
        return "Jede Schraube entlastet ihre Nachbarn. Wir gehen reihum, bis keine Mutter mehr weitergeht."

    def why_seat(self) -> str:
        """Why tap and re-torque."""
        return "Reibung hält einen Teil der Last fest. Der Schlag löst sie, darum ziehen wir nach, bis es hält."

    def review(self, bolts: tuple[int, ...]) -> str:
        """A review wants bolts done again."""
        named = [self.number(Decimal(bolt)) for bolt in bolts]
        which = ("die Schrauben " if len(named) > 1 else "Schraube ") + ", ".join(named)
        which = which if len(named) <= 3 else f"{self.number(Decimal(len(named)))} Schrauben"
        return f"Der Vorarbeiter will {which} noch einmal, danach eine Kontrollrunde. Bereit?"

    def called_review(self) -> str:
        """What the review's question is called."""
        return "Prüfung"

    def why_review(self) -> str:
        """Why they are done again."""
        return "Der Vorarbeiter hat das Protokoll durchgesehen und will diese Schrauben noch einmal."

    # ---------------------------------------------------------------------------------------------- tap, teams, places
    def seat_begins(self, round_number: int, group: str | None, tap: str, *, told: bool) -> str:
        """Said at the start of a round of tap and re-torque; the first bolt with its figure follows."""
        whose = f"{group}. " if group else ""
        if round_number > 1:
            return f"{whose}Eine Mutter ging weiter. Schlagen und ziehen, Runde {self.number(Decimal(round_number))}."
        answers = f" Sag {english('it moved')} oder {english('did not move')}." if told else ""
        return f"{whose}{tap} Dann wieder ziehen.{answers}"

    def together(self, bolts: tuple[int, ...], setting: str | None) -> str:
        """Several tools pull at once: all bolts of the pull, and the figure where it has changed."""
        named = ", ".join(self.number(Decimal(bolt)) for bolt in bolts)
        return f"Schrauben {named}, gemeinsam{f', auf {setting}' if setting else ''}."

    def reading_of(self, bolt: int) -> str:
        """Ask for the reading of one bolt of a pull."""
        return f"Und Schraube {self.number(Decimal(bolt))}?"

    def place(self, where: str) -> str:
        """How to tell a bolt's place."""
        return f"{capital(where)}."

    # ------------------------------------------------------------------------------------------------ waits, figures
    def duration(self, seconds: int) -> str:
        """A length of time in words, to the minute."""
        minutes = max(1, round(seconds / 60))
        days, minutes = divmod(minutes, 24 * 60)
        hours, minutes = divmod(minutes, 60)
        parts = [(days, "ein Tag", "Tage"), (hours, "eine Stunde", "Stunden"), (minutes, "eine Minute", "Minuten")]
        said = [one if n == 1 else f"{self.number(Decimal(n))} {more}" for n, one, more in parts if n]
        return " ".join(said[:2])

    def wait_begins(self, name: str, seconds: int, *, told: bool) -> str:
        """Time has to pass."""
        more = f" Ich melde mich. Oder sag: {english('leave it open')}." if told else ""
        return f"{capital(name)}: {self.duration(seconds)}.{more}"

    def wait_goes_on(self, name: str, seconds: int) -> str:
        """Time goes on passing."""
        return f"{capital(name)}: noch {self.duration(seconds)}."

    def clock_counted(self) -> str:
        """The machine's clock was set during a wait that is counted without it."""
        return "Die Uhr wurde gestellt. Die Wartezeit zählt ohne sie."

    def clock_asked(self, seconds: int) -> str:
        """The machine's clock was set, and part of a wait of so many seconds passed while the machine was off."""
        return f"Ich war aus, und die Uhr wurde gestellt. Ist die Wartezeit um: {self.duration(seconds)}?"

    def off_the_record(self) -> str:
        """No sound is kept from here on."""
        return f"Ab jetzt wird kein Ton behalten. Zurück: sag {english('on the record')}."

    def on_the_record(self) -> str:
        """Sound is kept again."""
        return "Der Ton wird wieder behalten."

    def wait_over(self, name: str) -> str:
        """Time is up."""
        return f"{capital(name)} ist vorbei."

    def wait_cut_short(self, name: str) -> str:
        """Ended before its time."""
        return f"{capital(name)} abgebrochen. Grund notiert."

    def measure(self, ask: str, unit: str) -> str:
        """Ask for a figure that is no torque; of a pressure without its unit, as in English."""
        return f"{ask} Nur die Zahl." if unit == "bar" else f"{ask} In {self.unit_words(unit)}."

    def measured_outside(self, value: Decimal, unit: str, side: str, limit: Decimal) -> str:
        """A figure with which work does not go on."""
        said = "Zu niedrig. Es braucht mindestens" if side == "low" else "Zu hoch. Erlaubt sind höchstens"
        heard = f"{capital(self.number(value))} {self.unit_words(unit)}."
        return f"{heard} {said} {self.number(limit)}."

    # ------------------------------------------------------------------------------------------------- names, parts
    def name_please(self, purpose: str, role: str) -> str:
        """Ask for a name in free speech."""
        return {
            "tightens": "Wer zieht an?",
            "settles": "Wer gibt es frei?",
            "supervisor": "Wer beaufsichtigt?",
            "witness": f"{capital(role_words(role))}, wie ist dein Name?" if role else "Wer gibt frei?",
            "measured": "Wer hat gemessen?",
            "takes-over": "Wer übernimmt?",
            "competent": "Wer hat die Ursache gesucht?",
        }[purpose]

    def name_kept(self) -> str:
        """A name was kept; it is not repeated, because names are often misheard."""
        return "Name gespeichert."

    def replaced(self, bolt: int) -> str:
        """A new bolt is brought up alone."""
        return f"Erst allein durch alle Stufen: neue Schraube {self.number(Decimal(bolt))}."

    def restarted(self, reason: str) -> str:
        """Passes are done over."""
        if reason == "gasket":
            return "Neue Dichtung einlegen. Alles noch einmal, ab der Montage."
        return "Diese Stufe noch einmal, ab der ersten Schraube."

    # --------------------------------------------------------------------------------------------------- apprentice
    def caution(self, text: str) -> str:
        """A caution at its moment."""
        return f"Achtung. {text}"

    def explained(self, why: str, goes_wrong: str) -> str:
        """Why a step is done, and what goes wrong."""
        return " ".join(part for part in (why, goes_wrong and f"Das geht schief: {goes_wrong}") if part)

    def which_bolt_next(self, first: int, *, again: bool) -> str:
        """Ask which bolt comes second in the order."""
        return self.asked_back(f"Welche Schraube kommt nach Schraube {self.number(Decimal(first))}?", again=again)

    def asked_back(self, ask: str, *, again: bool) -> str:
        """A question before the step; `again` where it was answered wrongly earlier."""
        return f"{'Die Frage von vorhin' if again else 'Frage'}: {ask}"

    def right(self, because: str) -> str:
        """The answer was right."""
        return f"Richtig. {because}".strip()

    def wrong(self, answer: str, because: str) -> str:
        """The answer was wrong; the right one is told."""
        return f"Falsch, es ist {answer}. {because}".strip()

    def and_why(self) -> str:
        """Ask for the reason."""
        return "Und warum?"

    def compare(self, why: str) -> str:
        """The usual reason, to compare one's own with."""
        return f"Notiert. Der übliche Grund: {why}" if why else "Notiert."

    def bolt_named(self, bolt: int) -> str:
        """A bolt as an answer."""
        return f"Schraube {self.number(Decimal(bolt))}"

    def phrase_named(self, phrase: str) -> str:
        """A phrase as an answer."""
        return english(phrase)

    def supervisor(self) -> str:
        """An apprentice needs the supervisor, who knows the phrase; it is not told to the apprentice."""
        return "Dafür brauchst du die Aufsicht. Aufsicht, sag deinen Satz."

    def debrief(self, moments: tuple[str, ...]) -> str:
        """After the joint: what to look at again."""
        if not moments:
            return "Nichts nachzuarbeiten. Gut gemacht."
        return f"Schau dir noch einmal an: {'; '.join(moments)}."

    def moment(self, event: type[Event], bolt: int | None) -> str:
        """One moment of the debrief."""
        what = MOMENTS[event]
        return f"{what}, Schraube {self.number(Decimal(bolt))}" if bolt is not None else what
