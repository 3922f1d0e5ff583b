"""Whether the nut is as strong as the bolt: nut classes and grades, and which bolt they go with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from assistant.bolting.threads_and_strength.strength import Strength
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut:
    """One nut class or grade.

    Args:
        name: our name of it. standard: whose it is.
        proof: proof stress on the bolt's stress area.
        full: carries its bolt's full load (thin nuts do not).
    """

    name: str
    standard: str
    proof: Quantity
    full: bool = True

    @property
    def stainless(self) -> bool:
        """Whether it is an austenitic steel."""
        return self.standard == "ISO 3506-2" or self.name in ("A194 8", "A194 8M")


def _iso(number: str) -> Nut:
    return Nut(name=number, standard="ISO 898-2", proof=of(100 * float(number), "MPa"))


def _stainless(name: str) -> Nut:
    return Nut(name=name, standard="ISO 3506-2", proof=of(10 * float(name.split("-")[1]), "MPa"))


# ISO 898-2: a hundred times the class number, which is at most the table's proof stress (920 MPa for class 8 above
# M16, 1060 for class 10) and errs on the safe side in mixed pairs; thin nuts 380 and 500 MPa (from memory; 380 and 500
# also read in a table of ISO 898-6). ASTM A194 and A563 heavy hexagon proof stresses from memory.
NUTS: Mapping[str, Nut] = MappingProxyType(
    {
        nut.name: nut
        for nut in (
            *(_iso(number) for number in ("5", "6", "8", "9", "10", "12")),
            Nut(name="04", standard="ISO 898-2", proof=of(380.0, "MPa"), full=False),
            Nut(name="05", standard="ISO 898-2", proof=of(500.0, "MPa"), full=False),
            *(_stainless(f"A{steel}-{grade}") for steel in (1, 2, 3, 4, 5) for grade in (50, 70, 80)),
            Nut(name="A194 2H", standard="ASTM A194", proof=of(175.0, "ksi")),
            Nut(name="A194 2HM", standard="ASTM A194", proof=of(150.0, "ksi")),
            Nut(name="A194 4", standard="ASTM A194", proof=of(175.0, "ksi")),
            Nut(name="A194 7", standard="ASTM A194", proof=of(175.0, "ksi")),
            Nut(name="A194 7M", standard="ASTM A194", proof=of(150.0, "ksi")),
            Nut(name="A194 8", standard="ASTM A194", proof=of(80.0, "ksi")),
            Nut(name="A194 8M", standard="ASTM A194", proof=of(80.0, "ksi")),
            Nut(name="A563 C", standard="ASTM A563", proof=of(144.0, "ksi")),
            Nut(name="A563 DH", standard="ASTM A563", proof=of(175.0, "ksi")),
        )
    }
)
# Smallest ISO nut class for a bolt class (ISO 898-2; from memory: the nut's number is at least the bolt's first one).
_ISO_PARTNER = {"4.6": 5, "4.8": 5, "5.6": 5, "5.8": 5, "6.8": 6, "8.8": 8, "9.8": 9, "10.9": 10, "12.9": 12}


def nut(name: str) -> Nut:
    """The nut of a class or grade: "8", "10", "A4-80", "A194 2H", "2H", "ASTM A194 Grade 2HM".

    Raises:
        BadBolting: unknown; the remedy lists the known ones.
    """
    text = " ".join(name.upper().replace("GRADE", " ").replace("CLASS", " ").split()) if isinstance(name, str) else ""
    text = text.removeprefix("ASTM ").removeprefix("ISO 898-2 ").removeprefix("ISO 3506-2 ")
    for key in (text, f"A194 {text}" if text.startswith("2H") else text):
        if key in NUTS:
            return NUTS[key]
    raise BadBolting(f"nut is {name!r}: unknown", remedy=f"One of: {', '.join(NUTS)}.")


def check_nut(partner: Nut, bolt: Strength) -> tuple[str, ...]:
    """Warnings on a nut and bolt pair; none when the nut holds at least what the bolt can.

    A thin nut always gets one. An ISO class goes with bolts up to its own number; every other pair is judged by proof
    stress of the nut against the minimum tensile strength of the bolt: the bolt shall break before the thread strips.

    Args:
        partner: from `nut`.
        bolt: from `strength.material`.

    Source: ISO 898-2 for the classes (from memory); the tensile rule is common practice, no source.
    """
    found = []
    if not partner.full:
        found.append(f"nut {partner.name} is a thin nut: it does not carry the bolt's full load")
    elif partner.standard == "ISO 898-2" and bolt.grade in _ISO_PARTNER:
        if float(partner.name) < _ISO_PARTNER[bolt.grade]:
            found.append(f"nut class {partner.name} is too weak for bolt class {bolt.grade}: the thread may strip")
    elif _mpa(partner.proof) < _mpa(bolt.tensile):
        found.append(
            f"nut {partner.name}: proof stress {_mpa(partner.proof):.0f} MPa is below the bolt's tensile strength "
            f"{_mpa(bolt.tensile):.0f} MPa ({bolt.grade}): the thread may strip"
        )
    return tuple(found)


def _mpa(stress: Quantity) -> float:
    return magnitude(stress, "MPa", name="stress")
