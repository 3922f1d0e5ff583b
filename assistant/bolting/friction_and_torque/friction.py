"""What is published on thread conditions: nut factors and friction coefficients, as ranges with their sources.

A nut factor K (T = K d F) is not a friction coefficient. Sources disagree; every reading is kept, one of them is named
as the value to calculate with, and the range is what a preload band must cover.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from assistant.bolting.friction_and_torque.torque import checked_nut_factor
from assistant.errors import BadBolting

_SHIGLEY = "Shigley, Mechanical Engineering Design, 9th ed. Table 8-15 (read)"
_NEWSLETTER = "typical, no citable source: a trade newsletter (read)"
_DATA_PAGE = "typical, no citable source: a public data page, maker not named (read)"
_LIST = "typical, no citable source: an engineers' mailing list, 1999 (read)"
_TUTORIAL = "typical, no citable source: a public fastening tutorial (read)"
_STUDS = "typical of studs with common pastes, no source (from memory)"
_TYPICAL = "typical, no source (from memory)"
_IFI = "torque guide after IFI Technical Data N-12 (read)"
_VESSEL = "Pressure Vessel Design Manual p. 61 (read)"


@dataclass(frozen=True, slots=True)
class Reading:
    """One published nut factor: a single value (low equals high) or a range, and where it stands."""

    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadCondition:
    """One condition of thread and bearing face, with what is published on it.

    Args:
        name: our word for it. aliases: what people also write.
        nut_factor: the value to calculate with, and `chosen`, why this one.
        readings: every published nut factor; none may be dropped because it disagrees.
        lubricated: whether the threads count as lubricated for instructions that only say "lubricated" or "dry".
        finish: what covers the steel: '' for plain or unknown, else 'zinc', 'cadmium', 'galvanised', 'phosphate',
            'black', 'zinc flake', 'PTFE' or 'rust'; what the grade bears is asked in `compatibility`.
        tested: the range comes from tests of this very lubricant; published ranges do not.
    """

    name: str
    aliases: tuple[str, ...]
    nut_factor: float
    chosen: str
    readings: tuple[Reading, ...]
    lubricated: bool
    finish: str = ""
    tested: bool = False

    @property
    def low(self) -> float:
        """Smallest published nut factor: most preload for a torque."""
        return min(reading.low for reading in self.readings)

    @property
    def high(self) -> float:
        """Largest published nut factor: least preload for a torque."""
        return max(reading.high for reading in self.readings)


def _condition(
    name: str,
    nut_factor: float,
    chosen: str,
    *readings: Reading,
    aliases: tuple[str, ...] = (),
    lubricated: bool = False,
    finish: str = "",
) -> ThreadCondition:
    return ThreadCondition(
        name=name,
        aliases=aliases,
        nut_factor=nut_factor,
        chosen=chosen,
        readings=readings,
        lubricated=lubricated,
        finish=finish,
    )


CONDITIONS: Mapping[str, ThreadCondition] = MappingProxyType(
    {
        one.name: one
        for one in (
            _condition(
                "dry",
                0.20,
                "plain column of the IFI guide, and typical of clean dry steel",
                Reading(0.20, 0.20, _NEWSLETTER),
                Reading(0.20, 0.20, _IFI),
                Reading(0.18, 0.27, _DATA_PAGE),
                aliases=("clean and dry", "plain", "as received", "dry steel"),
            ),
            _condition(
                "black finish",
                0.30,
                "only value read",
                Reading(0.30, 0.30, _SHIGLEY),
                aliases=("nonplated black finish", "black oxide dry"),
                finish="black",
            ),
            _condition(
                "lubricated",
                0.15,
                "IFI guide and typical; the textbook's 0.18 is in the range",
                Reading(0.15, 0.15, _NEWSLETTER),
                Reading(0.15, 0.15, _IFI),
                Reading(0.18, 0.18, _SHIGLEY),
                aliases=("lubed", "greased"),
                lubricated=True,
            ),
            _condition(
                "oiled",
                0.15,
                "value for lubricated threads; the range read for machine oil is wide",
                Reading(0.10, 0.26, _DATA_PAGE),
                Reading(0.18, 0.18, _SHIGLEY),
                Reading(0.15, 0.15, _NEWSLETTER),
                aliases=("machine oil", "light oil"),
                lubricated=True,
            ),
            _condition(
                "anti-seize",
                0.12,
                "textbook value, the low end of the range",
                Reading(0.12, 0.12, _SHIGLEY),
                Reading(0.12, 0.16, _TUTORIAL),
                Reading(0.15, 0.18, _STUDS),
                aliases=("antiseize", "anti seize", "anti-seize paste"),
                lubricated=True,
            ),
            _condition(
                "zinc plated",
                0.20,
                "textbook value; a typical 0.17 lies inside the range read",
                Reading(0.20, 0.20, _SHIGLEY),
                Reading(0.17, 0.17, _NEWSLETTER),
                Reading(0.17, 0.35, _DATA_PAGE),
                aliases=("zinc-plated", "zinc"),
                finish="zinc",
            ),
            _condition(
                "cadmium plated",
                0.16,
                "textbook value, inside the range read",
                Reading(0.16, 0.16, _SHIGLEY),
                Reading(0.15, 0.19, _DATA_PAGE),
                aliases=("cadmium-plated", "cadmium"),
                finish="cadmium",
            ),
            _condition(
                "phosphate and oil",
                0.18,
                "about the middle of the only range read",
                Reading(0.15, 0.22, _DATA_PAGE),
                aliases=("phosphated and oiled", "phosphate oiled"),
                finish="phosphate",
                lubricated=True,
            ),
            _condition(
                "galvanised",
                0.30,
                "only value read for heavy galvanising",
                Reading(0.30, 0.30, _LIST),
                aliases=("galvanized", "hot-dip galvanised", "hot-dip galvanized"),
                finish="galvanised",
            ),
            _condition(
                "dry plated",
                0.25,
                "only value read",
                Reading(0.25, 0.25, _LIST),
                aliases=("plated, poor lubricity",),
                finish="zinc",
            ),
            _condition(
                "galvanised, waxed nut",
                0.15,
                "typical of galvanised bolts with lubricated nuts; the assembly's own certificate has its k",
                Reading(0.10, 0.23, "k classes K1 and K2 of EN 14399-1 together (from memory)"),
                aliases=("waxed galvanised", "waxed galvanized", "galvanized, waxed nut"),
                lubricated=True,
                finish="galvanised",
            ),
            _condition(
                "zinc flake",
                0.16,
                _TYPICAL,
                Reading(0.12, 0.20, "friction 0.09 to 0.14 as car makers ask for it (VDA 235-101, from memory)"),
                aliases=("zinc flake coated", "zinc-flake"),
                lubricated=True,
                finish="zinc flake",
            ),
            _condition(
                "PTFE coated",
                0.12,
                _TYPICAL,
                Reading(0.07, 0.16, _TYPICAL),
                aliases=("ptfe", "ptfe coated", "ptfe-coated"),
                lubricated=True,
                finish="PTFE",
            ),
            _condition(
                "molybdenum paste",
                0.12,
                _TYPICAL,
                Reading(0.09, 0.16, _TYPICAL),
                aliases=("molybdenum disulphide", "molybdenum disulfide", "moly paste", "mos2"),
                lubricated=True,
            ),
            _condition(
                "low-friction nuts",
                0.12,
                _TYPICAL,
                Reading(0.08, 0.16, _TYPICAL),
                aliases=("low friction nuts", "coated nuts"),
                lubricated=True,
            ),
            _condition(
                "rusty",
                0.30,
                "rusty threads are cleaned or replaced, not calculated with; typical, no source (from memory)",
                Reading(0.25, 0.45, _TYPICAL),
                aliases=("rusted", "corroded", "weathered"),
                finish="rust",
            ),
            _condition(
                "stainless dry",
                0.40,
                "middle of the only range read; dry stainless threads gall, lubricate them",
                Reading(0.30, 0.50, _DATA_PAGE),
                aliases=("stainless on stainless", "dry stainless"),
            ),
            _condition(
                "unknown",
                0.20,
                "Shigley 5th ed. sec. 8-8 for an unstated condition (read in a public page)",
                Reading(0.20, 0.20, "Shigley 5th ed. sec. 8-8, quoted in a public page (read)"),
                Reading(0.10, 0.35, "lowest and highest of oiled, dry and zinc plated steel in this table"),
                aliases=("not known", "unstated"),
            ),
        )
    }
)

# Friction coefficients (not nut factors) by whether the face is lubricated.
FRICTION_COEFFICIENTS: Mapping[str, Reading] = MappingProxyType(
    {"lubricated": Reading(0.075, 0.15, _VESSEL), "not lubricated": Reading(0.15, 0.25, _VESSEL)}
)

# Torque reduction against dry threads, in percent, as a public reference page prints it without a test basis (read):
# larger than the nut factors say, so it serves to judge plausibility only.
TORQUE_REDUCTIONS: Mapping[str, Reading] = MappingProxyType(
    {
        name: Reading(low, high, "public engineering reference page on lubricated bolts, no test basis (read)")
        for name, low, high in (
            ("graphite", 50.0, 55.0),
            ("white grease", 35.0, 45.0),
            ("SAE 30 oil", 35.0, 45.0),
            ("SAE 40 oil", 30.0, 40.0),
        )
    }
)


def stated_condition(
    name: str, *, nut_factor: float, low: float, high: float, source: str, lubricated: bool
) -> ThreadCondition:
    """A condition with a nut factor of the user's own, e.g. from the lubricant's data sheet.

    Args:
        name: what it is called on site.
        nut_factor: K to calculate with, from low to high.
        low: smallest K of the source.
        high: largest K of the source.
        source: where the K comes from; it must be named.
        lubricated: whether the threads count as lubricated.

    Raises:
        BadBolting: no source, K outside its own range, or a number that cannot be a nut factor.
    """
    if not source.strip():
        raise BadBolting(
            f"nut factor of '{name}' has no source", remedy="Name the source: test, bolt size, temperature."
        )
    if not checked_nut_factor(low) <= checked_nut_factor(nut_factor) <= checked_nut_factor(high):
        raise BadBolting(f"nut factor of '{name}' is {nut_factor:g}", remedy=f"It lies between {low:g} and {high:g}.")
    return ThreadCondition(
        name=name,
        aliases=(),
        nut_factor=nut_factor,
        chosen=f"stated by {source}",
        readings=(Reading(low, high, source),),
        lubricated=lubricated,
        finish=next((each.finish for each in CONDITIONS.values() if _is_called(each, name)), ""),
        tested=True,
    )


def thread_condition(name: str) -> ThreadCondition:
    """The published data on a thread condition, by our word or an alias of it (case and spaces do not matter).

    Raises:
        BadBolting: unknown lubricant or condition; the remedy lists the known ones.
    """
    for condition in CONDITIONS.values():
        if _is_called(condition, name):
            return condition
    raise BadBolting(
        f"thread condition is {name!r}: unknown",
        remedy=f"One of: {', '.join(CONDITIONS)}; or give the nut factor of the lubricant's own data, with its source.",
    )


def _is_called(condition: ThreadCondition, name: str) -> bool:
    wanted = " ".join(name.lower().split()) if isinstance(name, str) else ""
    return wanted in (condition.name.lower(), *condition.aliases)
