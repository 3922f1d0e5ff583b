"""What is said where the bolts do not come to their target by torque: turns, gaps, stretch, pressure."""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.wording.english_numbers import EnglishNumbers

NAMES = {
    "further turn": "Further turn",
    "turn from snug": "Turn from snug",
    "gap of the direct tension washer": "Washer gaps",
    "elongation": "Measured stretch",
    "nuts by hand": "Nuts by hand",
    "pressure check": "Check at pressure",
}
"""What each method's pass is called."""
BEGINS = {
    "further turn": "Mark every nut, bolt and part. Turn from the marks, then say the angle.",
    "turn from snug": "Parts in firm contact? Mark nut and bolt. Turn from the marks, then say the angle.",
    "gap of the direct tension washer": "Pull until the feeler enters less than half of the gaps. "
    "Then say the widest one that still does.",
    "elongation": "Pull, then measure the length. Say how much longer the bolt is now.",
    "nuts by hand": "Pressure stays on. Run each nut down by hand until it is tight. Say snug.",
    "pressure check": "Pressure stays on. Try every nut. Say: it moved, or: did not move.",
}
"""How it is done and what is said; the first bolt follows."""
WHYS = {
    "further turn": "The turn stretches the bolt by a length. Friction has little to say in it.",
    "turn from snug": "From firm contact the turn alone sets the stretch, so friction has little to say.",
    "gap of the direct tension washer": "The bumps of the washer are flattened by the load itself, not by torque.",
    "elongation": "The bolt is a spring. How much longer it is tells its load, whatever the friction.",
    "nuts by hand": "The tool has stretched the bolt. The nut only keeps what it is run down to.",
    "pressure check": "Bolts pulled later take load from the first ones. A nut that still turns shows it.",
    "pressure": "Pressure times the tool's area is the load. More than the bolt keeps, because the nut settles.",
}
"""Why it is done (common practice, no source)."""
PULLS = {
    "pressure": "gauge reading",
    "pressure A": "first gauge reading",
    "pressure B": "second gauge reading",
    "check": "gauge reading of the check",
}
"""What each pull of tensioners is called."""


class EnglishMethods(EnglishNumbers):
    """Other methods than torque."""

    def method_begins(self, method: str, group: str | None) -> str:
        """Said at the start of such a pass; the first bolt follows."""
        whose = f"{group}. " if group else ""
        return f"{whose}{NAMES[method]}. {BEGINS[method]}"

    def where_method(self, method: str, bolt: int | None) -> str:
        """Name of the pass and bolt."""
        return f"{NAMES[method]}, bolt {self.number(Decimal(bolt))}." if bolt is not None else f"{NAMES[method]}."

    def why_method(self, method: str) -> str:
        """Why it is done."""
        return WHYS[method]

    def turn_by(self, bolt: int, angle: str) -> str:
        """Ask for a bolt with the angle that its nut is turned by; one lost word leaves no 'to' with a torque."""
        return f"Bolt {self.number(Decimal(bolt))}. Turn by {angle}."

    def due_turn(self, angle: str) -> str:
        """The angle that is due, with its unit."""
        return f"Turn by {angle}."

    def too_wide(self, heard: str, due: str) -> str:
        """A gap that is not closed enough; the widest that is allowed comes last."""
        return f"I heard {heard}, still open. Say keep, or pull again, to {due}."

    def say_it_in(self, unit: str) -> str:
        """What is read here is no torque; its unit."""
        return f"Say the figure in {self.unit_words(unit)}."

    def pull_together(self, bolts: tuple[int, ...], pressure: str, *, everyone: bool) -> str:
        """Tensioners on these bolts, one pump; ask for what its gauge shows."""
        which = "every bolt" if everyone else f"every other bolt, from {self.number(Decimal(bolts[0]))}"
        return f"Tools on {which}. Pump to {pressure}. What does the gauge show?"

    def pressure_called(self, name: str) -> str:
        """What the question about the pressure is called."""
        return PULLS[name]

    def pressure_caution(self) -> str:
        """Before there is pressure (common practice, no source)."""
        return "Nobody in line with the bolts while there is pressure."

    def pressure_off(self) -> str:
        """Asked when the nuts are tight."""
        return "All nuts tight? Let the pressure off."

    def pressure_off_called(self) -> str:
        """What that question is called."""
        return "pressure off"

    def fresh_bolts(self) -> str:
        """Before bolts that were turned or stretched are done again."""
        return "A bolt that was turned once is not turned again: fit new bolts and nuts first."
