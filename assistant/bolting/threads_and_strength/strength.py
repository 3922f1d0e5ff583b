"""Strength of a bolt grade at a thread size, and the loads that follow from it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.bolting.threads_and_strength.strength_tables import (
    EN_10269,
    EN_NUMBERS,
    GRADES,
    ISO_898,
    SMALLEST,
    Grade,
)
from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

_LARGEST_BY_AGREEMENT_MM = 72.0
_ROUNDING = 0.01
_SHARE_OF_YIELD = 0.85  # Shigley 9th ed. p. 442: proof strength of other materials about 0.85 Sy (read)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """What one grade guarantees at one diameter; stresses in MPa (metric standards) or ksi.

    Args:
        grade: our name of it, e.g. "8.8", "A193 B7", "SAE 5", "A4-80".
        standard: which standard's values these are.
        proof: proof strength, None where the standard defines none. yield_: minimum yield (Rp0.2, ReL).
        tensile: minimum tensile strength.
        temperature_family: key for `temperature_properties.yield_at`, or None.
        notes: restrictions that must be printed with the values.
    """

    grade: str
    standard: str
    proof: Quantity | None
    yield_: Quantity
    tensile: Quantity
    temperature_family: str | None
    notes: tuple[str, ...]


def grade_name(name: str) -> str:
    """Our name of a grade as people write it: "class 8.8", "ASTM A193 Gr. B7", "SA-193 B7", "Grade 5", "A2-70".

    Raises:
        BadBolting: unknown, or it has two readings ("5", "A193 B8" without its class, "A453 660" without its class).
    """
    text = " ".join(name.split()).upper() if isinstance(name, str) else ""
    text = re.sub(r"^(?:EN )?ISO (?:898-1|3506-1) ", "", text)
    text = re.sub(r"^(?:PROPERTY )?CLASS (?=[0-9A-Z])", "", text)
    text = re.sub(r"\bCL(?:ASS|\.)? ?(?=[0-9])", "CLASS ", text)
    text = re.sub(r"\bGR(?:ADE|\.)? ?(?=[0-9A-Z])", "GRADE ", text)
    text = re.sub(r"^SA-? ?(?=[0-9]{3})", "A", re.sub(r"^ASTM ", "", text))
    text = re.sub(r"^(A[0-9]{3}) ?(?:M|/A[0-9]{3}M) (?=[BL]|660)", r"\1 ", text)
    text = re.sub(r"^SAE (?:J429 )?(?:GRADE )?(?=[0-9])", "SAE ", text)
    text = re.sub(r"^GRADE (?=[1-8](?:\.2)?$)", "SAE ", text).replace(" GRADE ", " ")
    text = re.sub(r"^(?=(?:B6|B7M?|B16|B8M? CLASS [12])$)", "A193 ", text)
    text = re.sub(r"^(?=(?:L7M?|L43)$)", "A320 ", text).replace("660 CLASS ", "660 ")
    text = re.sub(r"^(?=(?:B23|B24) CLASS [1-5]$)", "A540 ", text)
    text = re.sub(r"^(?=B[CD]$)", "A354 ", text).replace("N07718", "ALLOY 718")
    text = EN_NUMBERS.get(text.removeprefix("EN 10269 "), text.removeprefix("EN 10269 ")).upper()
    for key in GRADES:
        if key.upper() == text:
            return key
    near = [key for key in GRADES if text and (key.upper().startswith(text + " ") or key.upper() == f"SAE {text}")]
    if near:
        raise BadBolting(
            f"grade is {name!r}: it may be read in more than one way", remedy=f"Write one of: {', '.join(near)}."
        )
    remedy = (
        f"ISO 898-1: {', '.join(ISO_898)}; ISO 3506-1 like A2-70; SAE J429 like 'SAE 5'; "
        "ASTM: A193 B7, B7M, B16, B8 class 1 or 2, A320 L7, L7M, L43, A325, A490, F3125 A325, A453 660 A to D, "
        f"A354 BC, BD, A574, A540 B23 class 1, F593 CW; EN 10269: {', '.join(EN_10269)}; "
        "alloy 718, titanium 5; or own_strength with the figures of its standard."
    )
    raise BadBolting(f"grade is {name!r}: unknown", remedy=remedy)


def material(name: str, thread: Thread) -> Strength:
    """Strength of a grade at a thread's diameter.

    Args:
        name: property class or material grade as people write it.
        thread: gives the diameter; metric grades go on metric threads and SAE grades on Unified ones.

    Returns:
        Minimum values of the standard's row for this diameter. ISO 898-1 puts M16 in the row "d <= 16 mm" (the
        textbook table puts it above; the standard wins).

    Raises:
        BadBolting: unknown or ambiguous grade, wrong thread system, no row for the diameter.

    Source: see `strength_tables`.
    """
    key = grade_name(name)
    grade = GRADES[key]
    metric = grade.system == "metric"
    if grade.system != "both" and grade.system != thread.system:
        raise BadBolting(
            f"grade {key} on thread {thread.name}: {grade.standard} is for {_SYSTEM[grade.system]} threads",
            remedy="Check thread and grade on drawing and bolt head; write a grade that exists for this thread.",
        )
    diameter = magnitude(thread.diameter, "mm" if metric else "in", name="thread diameter")
    notes = [grade.note] if grade.note else []
    row = next((row for row in grade.rows if _fits(row[0], grade, thread)), None)
    if row is None and grade.standard == "ISO 898-1" and 16 < diameter <= _LARGEST_BY_AGREEMENT_MM:
        row = grade.rows[-1] if grade.rows[-1][0] == 39.0 else None
        notes.append("above M39 ISO 898-1 lists no values: those up to M39 hold by agreement only, see the certificate")
    if row is None or diameter < SMALLEST.get(grade.standard, 0.0):
        raise BadBolting(
            f"grade {key} on thread {thread.name}: {grade.standard} has no such size", remedy=_sizes(grade)
        )
    unit = "MPa" if metric else "ksi"
    _, proof, yield_, tensile = row
    return Strength(
        grade=key,
        standard=grade.standard,
        proof=None if proof is None else of(proof, unit),
        yield_=of(yield_, unit),
        tensile=of(tensile, unit),
        temperature_family=grade.family,
        notes=tuple(notes),
    )


def stated_strength(
    grade: str, *, proof: Quantity | None, yield_: Quantity, tensile: Quantity, source: str
) -> Strength:
    """Strength of a material that is in no table here, from its standard or certificate.

    Args:
        grade: what it is called.
        proof: proof strength, None where the standard defines none.
        yield_: minimum yield.
        tensile: minimum tensile strength.
        source: standard and size, or certificate; printed as its standard.

    Raises:
        BadBolting: the grade stands in a table whose standard promises less at every size than is stated here.
    """
    known = next((each for key, each in GRADES.items() if key.casefold() == grade.casefold()), None)
    if known is not None:
        unit = "MPa" if known.system == "metric" else "ksi"
        most = max(row[2] for row in known.rows)
        if magnitude(yield_, unit, name="yield") > most * (1 + _ROUNDING):
            raise BadBolting(
                f"grade {grade}: a yield of {magnitude(yield_, unit, name='yield'):.4g} {unit} is stated",
                remedy=f"{known.standard} promises {most:g} {unit} at most: correct it, or name the material.",
            )
    return Strength(
        grade=grade,
        standard=source,
        proof=proof,
        yield_=yield_,
        tensile=tensile,
        temperature_family=None,
        notes=("strength as the joint file states it",),
    )


_SYSTEM = {"metric": "metric", "UN": "Unified (inch)", "both": "all"}


# The metric editions of ASTM bolting standards give these sizes beside the inch ones (A193/A193M; from memory).
_METRIC_LIMIT_MM = {0.75: 20.0, 1.0: 24.0, 1.25: 30.0, 1.5: 36.0, 2.5: 64.0, 4.0: 100.0, 7.0: 180.0, 8.0: 200.0}


def _fits(largest: float, grade: Grade, thread: Thread) -> bool:
    """Whether a row's largest diameter covers the thread, in the thread's own system of sizes."""
    if thread.system == "UN":
        return magnitude(thread.diameter, "in", name="thread diameter") <= largest
    limit_mm = largest if grade.system == "metric" else _METRIC_LIMIT_MM.get(largest, 25.4 * largest)
    return magnitude(thread.diameter, "mm", name="thread diameter") <= limit_mm


def _sizes(grade: Grade) -> str:
    unit = "mm" if grade.system == "metric" else "in"
    least = SMALLEST.get(grade.standard, 0.0)
    return f"{grade.standard} covers this grade from {least:g} to {grade.rows[-1][0]:g} {unit}."


def proof_load(strength: Strength, thread: Thread | Quantity) -> Quantity:
    """Fp = As Sp, force in kN.

    Args:
        strength: from `material`.
        thread: gives As by formula; or a stress area, e.g. a published one (ISO tables use it rounded to 3 figures).

    Raises:
        BadBolting: the standard defines no proof strength (see `proof_or_estimate`).

    Source: ISO 898-1 (tables are this product, rounded).
    """
    if strength.proof is None:
        raise BadBolting(
            f"grade {strength.grade}: {strength.standard} defines no proof strength",
            remedy="Give the target as a share of yield or as a bolt stress.",
        )
    return _load(strength.proof, thread)


def proof_or_estimate(strength: Strength) -> tuple[Quantity, str]:
    """Proof strength and how it is known: the standard's, or 0.85 Sy as an estimate (Shigley 9th ed. p. 442, read)."""
    if strength.proof is not None:
        return strength.proof, f"proof strength of {strength.standard}"
    estimate = of(_SHARE_OF_YIELD * magnitude(strength.yield_, "MPa", name="yield"), "MPa")
    return estimate, f"estimate 0.85 x yield, because {strength.standard} defines no proof strength"


def yield_load(strength: Strength, thread: Thread | Quantity) -> Quantity:
    """As Sy, force at which the mean stress reaches the minimum yield strength (no torsion)."""
    return _load(strength.yield_, thread)


def tensile_load(strength: Strength, thread: Thread | Quantity) -> Quantity:
    """As Rm, minimum ultimate tensile load. Source: ISO 898-1."""
    return _load(strength.tensile, thread)


def _load(stress: Quantity, thread: Thread | Quantity) -> Quantity:
    return of(magnitude(stress, "MPa", name="stress") * _area_mm2(thread, "stress area") / 1000, "kN")


def bolt_stress(preload: Quantity, thread: Thread | Quantity, *, area: str = "stress area") -> Quantity:
    """Mean tensile stress F/A in MPa, without torsion.

    Args:
        preload: tension in the bolt.
        thread: gives the area; or a published area itself.
        area: "stress area" (ISO 898-1, VDI 2230, Shigley) or "root area" (ASME VIII-1 and older flange tables: the
            same stress then means 3 to 8 % less load, so say which one a target is for).

    Raises:
        BadBolting: another area.
    """
    return of(magnitude(preload, "N", name="preload") / _area_mm2(thread, area), "MPa")


def preload_at(stress: Quantity, thread: Thread | Quantity, *, area: str = "stress area") -> Quantity:
    """Preload F = S A in kN for a target bolt stress; the reverse of `bolt_stress`."""
    return of(magnitude(stress, "MPa", name="bolt stress") * _area_mm2(thread, area) / 1000, "kN")


def _area_mm2(thread: Thread | Quantity, area: str) -> float:
    if not isinstance(thread, Thread):
        value = magnitude(thread, "mm2", name=area)
        if value <= 0:
            raise BadBolting(f"{area} is {thread:~}", remedy="Give an area above zero.")
        return value
    areas = {"stress area": thread.stress_area, "root area": thread.root_area}
    if area not in areas:
        raise BadBolting(f"area is {area!r}", remedy=f"One of: {', '.join(areas)}.")
    return magnitude(areas[area], "mm2", name=area)
