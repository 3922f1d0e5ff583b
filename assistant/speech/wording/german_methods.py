"""What is said where the bolts do not come to their target by torque, in German."""

from __future__ import annotations

from decimal import Decimal

from typing_extensions import override

from assistant.speech.wording.english_methods import EnglishMethods
from assistant.speech.wording.german_numbers import GermanNumbers, english

NAMES = {
    "further turn": "Weiterdrehwinkel ab Marke",
    "turn from snug": "Drehwinkel ab handfest",
    "gap of the direct tension washer": "Spalte der Messscheiben",
    "elongation": "Gemessene Längung",
    "nuts by hand": "Muttern von Hand",
    "pressure check": "Prüfung unter Druck",
}
"""As in English."""
BEGINS = {
    "further turn": "Mutter, Schraube und Bauteil markieren. Ab den Marken drehen, dann den Winkel nennen.",
    "turn from snug": "Liegt alles an? Mutter und Schraube markieren. Ab den Marken drehen, dann den Winkel nennen.",
    "gap of the direct tension washer": "Anziehen, bis die Lehre in weniger als die Hälfte geht. "
    "Dann die dickste nennen, die noch hineingeht.",
    "elongation": "Anziehen, dann die Länge messen. Nenne, um wie viel länger die Schraube jetzt ist.",
    "nuts by hand": f"Der Druck bleibt. Jede Mutter von Hand beidrehen, bis sie fest ist. Sag {english('snug')}.",
    "pressure check": f"Der Druck bleibt. Jede Mutter probieren. Sag {english('it moved')} "
    f"oder {english('did not move')}.",
}
"""As in English."""
WHYS = {
    "further turn": "Der Winkel dehnt die Schraube um eine Länge. Reibung zählt dabei wenig.",
    "turn from snug": "Liegt alles fest an, bestimmt der Winkel allein die Dehnung. Reibung zählt wenig.",
    "gap of the direct tension washer": "Die Höcker der Scheibe drückt die Kraft selbst platt, nicht das Moment.",
    "elongation": "Die Schraube ist eine Feder. Ihre Längung sagt die Kraft, egal wie die Reibung ist.",
    "nuts by hand": "Das Werkzeug hat die Schraube gedehnt. Gehalten wird nur, wozu die Mutter beigedreht ist.",
    "pressure check": "Später gezogene Schrauben nehmen den ersten Kraft weg. Eine Mutter, die noch geht, zeigt es.",
    "pressure": "Druck mal Kolbenfläche ist die Kraft. Mehr als bleibt, weil die Mutter sich setzt.",
}
"""As in English."""
PULLS = {
    "pressure": "Anzeige am Manometer",
    "pressure A": "erste Anzeige am Manometer",
    "pressure B": "zweite Anzeige am Manometer",
    "check": "Anzeige am Manometer bei der Prüfung",
}
"""As in English."""


class GermanMethods(GermanNumbers, EnglishMethods):
    """Andere Verfahren als das Drehmoment: other methods than torque."""

    @override
    def method_begins(self, method: str, group: str | None) -> str:
        whose = f"{group}. " if group else ""
        return f"{whose}{NAMES[method]}. {BEGINS[method]}"

    @override
    def where_method(self, method: str, bolt: int | None) -> str:
        return f"{NAMES[method]}, Schraube {self.number(Decimal(bolt))}." if bolt is not None else f"{NAMES[method]}."

    @override
    def why_method(self, method: str) -> str:
        return WHYS[method]

    def turn_by(self, bolt: int, angle: str) -> str:
        """Ask for a bolt with the angle that its nut is turned by."""
        return f"Schraube {self.number(Decimal(bolt))}. Drehen um {angle}."

    @override
    def due_turn(self, angle: str) -> str:
        return f"Drehen um {angle}."

    @override
    def too_wide(self, heard: str, due: str) -> str:
        return f"Verstanden habe ich {heard}, noch offen. Sag {english('keep')}, oder weiter anziehen, bis {due}."

    @override
    def say_it_in(self, unit: str) -> str:
        return f"Nenne die Zahl in {self.unit_words(unit)}."

    @override
    def pull_together(self, bolts: tuple[int, ...], pressure: str, *, everyone: bool) -> str:
        first = self.number(Decimal(bolts[0]))
        which = "jede Schraube" if everyone else f"jede zweite Schraube, ab Nummer {first}"
        return f"Spannzylinder auf {which}. Pumpen bis {pressure}. Was zeigt das Manometer?"

    @override
    def pressure_called(self, name: str) -> str:
        return PULLS[name]

    @override
    def pressure_caution(self) -> str:
        return "Solange Druck ansteht, steht niemand in der Achse der Schrauben."

    @override
    def pressure_off(self) -> str:
        return "Alle Muttern fest? Druck ablassen."

    @override
    def pressure_off_called(self) -> str:
        return "Druck abgelassen"

    @override
    def fresh_bolts(self) -> str:
        return "Eine einmal gedrehte Schraube wird nicht noch einmal gedreht: erst neue Schrauben und Muttern."
