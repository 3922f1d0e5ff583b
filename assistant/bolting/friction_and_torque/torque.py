"""Torque and preload, both ways: the short form with a nut factor and the long form with its three shares.

Symbols: T torque, F preload, d nominal diameter, K nut factor, P pitch, d2 pitch diameter, mu_t and mu_b friction
coefficients in thread and bearing face, Db mean bearing diameter, a = 30 deg half the thread angle.
All formulas hold for elastic bolts, single-start 60 degree threads and friction that does not depend on load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.bolting.threads_and_strength.threads import Thread
from assistant.bolting.units import Quantity, magnitude, of
from assistant.errors import BadBolting

_COS_30 = math.cos(math.radians(30))
NUT_FACTORS = (0.05, 0.6)  # outside nothing published (check rows KFAC, from anti-seize to dry stainless steel)
_FRICTION = (0.02, 0.6)  # friction coefficients; the same rows


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueShares:
    """Where a tightening torque goes; three torques in N*m that add up to `total`.

    Args:
        pitch: stretches the bolt. thread: friction in the thread. bearing: friction under the turned face.
    """

    pitch: Quantity
    thread: Quantity
    bearing: Quantity

    @property
    def total(self) -> Quantity:
        """The tightening torque, N*m."""
        return of(sum(magnitude(part, "N*m", name="share") for part in (self.pitch, self.thread, self.bearing)), "N*m")

    @property
    def percent(self) -> tuple[float, float, float]:
        """The three shares in percent of the total (pitch, thread, bearing)."""
        total = magnitude(self.total, "N*m", name="total")
        pitch, thread, bearing = (
            100 * magnitude(part, "N*m", name="share") / total for part in (self.pitch, self.thread, self.bearing)
        )
        return pitch, thread, bearing


def _within(value: float, bounds: tuple[float, float], what: str, remedy: str) -> float:
    if not bounds[0] <= value <= bounds[1]:  # also refuses nan
        raise BadBolting(f"{what} is {value:g}", remedy=f"{remedy} It lies between {bounds[0]} and {bounds[1]}.")
    return float(value)


def checked_nut_factor(value: float) -> float:
    """K if it can be one (0.05 to 0.6), else BadBolting; a friction coefficient of 0.12 is not a nut factor of 0.12."""
    return _within(value, NUT_FACTORS, "nut factor", "K is T/(d F) of the whole joint, not a friction coefficient.")


def checked_friction(value: float, what: str) -> float:
    """A friction coefficient if it can be one (0.02 to 0.6), else BadBolting."""
    return _within(value, _FRICTION, what, "A friction coefficient of thread or bearing face is wanted.")


def _diameter_m(of_what: Thread | Quantity) -> float:
    diameter = of_what.diameter if isinstance(of_what, Thread) else of_what
    value = magnitude(diameter, "m", name="nominal diameter")
    if value <= 0:
        raise BadBolting(f"nominal diameter is {diameter:~}", remedy="Give a length above zero.")
    return value


def torque_from_preload(preload: Quantity, thread: Thread | Quantity, *, nut_factor: float) -> Quantity:
    """T = K d F, in N*m.

    Args:
        preload: tension in the bolt (force).
        thread: the thread, or its nominal diameter as a length.
        nut_factor: K, 0.05 to 0.6, for the thread condition at hand.

    Raises:
        BadBolting: K cannot be a nut factor. BadQuantity: preload is not a force.

    Source: Shigley, Mechanical Engineering Design, 9th ed. eq. 8-27 (read).
    """
    force = magnitude(preload, "N", name="preload")
    return of(checked_nut_factor(nut_factor) * _diameter_m(thread) * force, "N*m")


def preload_from_torque(torque: Quantity, thread: Thread | Quantity, *, nut_factor: float) -> Quantity:
    """F = T / (K d), in kN; the reverse of `torque_from_preload` with the same arguments, errors and source."""
    newton_metres = magnitude(torque, "N*m", name="torque")
    return of(newton_metres / (checked_nut_factor(nut_factor) * _diameter_m(thread)) / 1000, "kN")


def _arms_m(
    thread: Thread, thread_friction: float, bearing_friction: float, bearing_diameter: Quantity
) -> tuple[float, float, float]:
    """Torque per unit of preload, in m: pitch P/2pi, thread mu_t d2/(2 cos a), bearing mu_b Db/2."""
    mu_t = checked_friction(thread_friction, "thread friction")
    mu_b = checked_friction(bearing_friction, "bearing friction")
    face = magnitude(bearing_diameter, "m", name="bearing diameter")
    if face <= 0:
        raise BadBolting(f"bearing diameter is {bearing_diameter:~}", remedy="Give a length above zero.")
    pitch_diameter = magnitude(thread.pitch_diameter, "m", name="pitch diameter")
    return (
        magnitude(thread.pitch, "m", name="pitch") / (2 * math.pi),
        mu_t * pitch_diameter / (2 * _COS_30),
        mu_b * face / 2,
    )


def torque_shares(
    preload: Quantity, thread: Thread, *, thread_friction: float, bearing_friction: float, bearing_diameter: Quantity
) -> TorqueShares:
    """Long form: T = F [ P/(2 pi) + mu_t d2/(2 cos a) + mu_b Db/2 ], as three shares.

    Args:
        preload: tension in the bolt (force).
        thread: gives P and d2.
        thread_friction: mu_t, 0.02 to 0.6.
        bearing_friction: mu_b, 0.02 to 0.6.
        bearing_diameter: Db, mean diameter of the turned face (`bearing.bearing_face`, or 1.25 d).

    Raises:
        BadBolting: friction or diameter out of range. BadQuantity: wrong dimension.

    Source: JIS B 1083 and Machinery's Handbook 31st ed. p. 1662 (read); EN 1591-1 and VDI 2230 (there 0.16 P +
    0.58 d2 mu_t) have the same three terms.
    """
    force = magnitude(preload, "N", name="preload")
    arms = _arms_m(thread, thread_friction, bearing_friction, bearing_diameter)
    pitch, friction, bearing = (of(force * arm, "N*m") for arm in arms)
    return TorqueShares(pitch=pitch, thread=friction, bearing=bearing)


def nut_factor_from_friction(
    thread: Thread, *, thread_friction: float, bearing_friction: float, bearing_diameter: Quantity
) -> float:
    """K = [ P/pi + mu_t d2/cos a + mu_b Db ] / (2 d): the short form that equals the long one for this thread.

    Args as `torque_shares`. Source: JIS B 1083, Machinery's Handbook 31st ed. p. 1662 (read).
    """
    return sum(_arms_m(thread, thread_friction, bearing_friction, bearing_diameter)) / _diameter_m(thread)
