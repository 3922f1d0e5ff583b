"""Gasket pressures in the manner of EN 1591: seated, tight in operation, not crushed; with the maker's own figures.

EN 1591-1 and EN 13555 could not be read; the relations here are the openly known ones (from memory) without the
flange rotation of the standard, and no gasket figures are invented: they come from the maker's data sheet.
Symbols: QA gasket pressure at assembly, QSmin(L) lowest pressure in operation for a leak class after an assembly at
QA, QSmax highest pressure, PQR share of the pressure left after creep, FR0 net external axial load.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting


@dataclass(frozen=True, slots=True, kw_only=True)
class GasketPressures:
    """Gasket pressures in MPa at assembly and in operation, the margins against the maker's figures, the answers."""

    assembly: Quantity
    operation: Quantity
    seated: bool
    tight: bool
    not_crushed: bool


def gasket_pressures(
    total_preload: Quantity,
    *,
    area: Quantity,
    end_force: Quantity,
    seating_pressure: Quantity,
    operating_pressure: Quantity,
    highest_pressure: Quantity,
    creep_share: float,
) -> GasketPressures:
    """Pressure on the gasket after tightening, and in operation after creep and with the line under pressure.

    Assembly: Q = F/A, compared with QA and QSmax. Operation: Q = (PQR F - FR)/A, compared with QSmin(L); the end force
    is taken off the gasket in full (a soft gasket between stiff flanges: the careful side).

    Args:
        total_preload: all bolts together, lower end of the band for seated and tight.
        area: effective gasket area.
        end_force: force of the line pressure on the area inside the gasket plus pipe loads, zero or more.
        seating_pressure: QA of the data sheet.
        operating_pressure: QSmin(L) for the wanted leak class after an assembly at QA.
        highest_pressure: QSmax at the temperature.
        creep_share: PQR, above 0 up to 1.

    Raises:
        BadBolting: area not above zero, a force below zero, creep share out of range, QSmax below QA.

    Source: EN 1591-1 and EN 13555 symbols and relations from memory; simplified as said above.
    """
    force = magnitude(total_preload, "N", name="total preload")
    face = magnitude(area, "mm2", name="gasket area")
    away = magnitude(end_force, "N", name="end force")
    lowest, running, most = (
        magnitude(pressure, "MPa", name=name)
        for name, pressure in (("QA", seating_pressure), ("QSmin", operating_pressure), ("QSmax", highest_pressure))
    )
    if face <= 0 or force < 0 or away < 0:
        raise BadBolting(
            f"gasket pressure of {force:g} N less {away:g} N on {face:g} mm2",
            remedy="an area above zero and forces not below zero",
        )
    if not 0 < creep_share <= 1:
        raise BadBolting(f"creep share PQR is {creep_share:g}", remedy="above 0, at most 1")
    if not 0 <= lowest <= most or not 0 <= running <= most:
        raise BadBolting(f"QA {lowest:g}, QSmin {running:g}, QSmax {most:g} MPa", remedy="QA and QSmin at most QSmax")
    assembly, operation = force / face, (creep_share * force - away) / face
    return GasketPressures(
        assembly=of(assembly, "MPa"),
        operation=of(operation, "MPa"),
        seated=assembly >= lowest,
        tight=operation >= running,
        not_crushed=assembly <= most,
    )
