"""Elastic interaction: tightening one bolt slackens its neighbours; a matrix model that follows a whole pass plan.

Model. Bolts are springs kb through a flange that is an elastic beam on the gasket (foundation kg per bolt). A bolt
force at one place closes the flange around it, u = C F with C(d) = (lambda / 2 kg) e^(-lambda d) (cos lambda d + sin
lambda d), d in bolt pitches along the ring. With the nut at height x a tight bolt carries F/kb = x - u. Tightening bolt
j moves x_j until F_j is the pass target; the other nuts stay, so with all bolts tight

    dF_i = (M_ij / M_jj) dF_j,   M = (1/kb + C)^-1,

and a bolt whose force would fall below zero is loose. Two numbers describe a joint: `give` = kb C(0), and `decay` =
lambda per pitch. Everything is linear and without friction scatter, gasket creep or hysteresis: it compares patterns
and shows why rounds are needed, it does not replace a measurement.

Source: beam on elastic foundation (Hetenyi) and the idea of an interaction matrix from the bolted-joint literature,
both from memory. Measured losses of 10 to 30 % a pass: a public piping knowledge page (read).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.bolting.tightening.passes import ROUNDS_BEFORE_CAUSE, Pass
from assistant.bolting.tightening.ring_orders import checked_count
from assistant.bolting.units import Quantity, magnitude
from assistant.errors import BadBolting

Floats = NDArray[np.float64]

STILL_PERCENT = 2.0
"""A nut counts as still when its bolt lacks less than this share of the target: the wrench releases before it turns
(static friction is higher than running friction). Common practice, no source."""


_REACHED = 1e-9  # percent of the target: a nut this far from its seat touches it


@dataclass(frozen=True, slots=True)
class JointGive:
    """How a joint gives: give = kb C(0), no unit, 0 to 20; decay = lambda per bolt pitch, above 0 up to 10."""

    give: float
    decay: float

    def __post_init__(self) -> None:
        if not 0 <= self.give <= 20:
            raise BadBolting(
                f"joint give is {self.give:g}", remedy="0 (rigid) to 20, bolt stiffness over joint stiffness"
            )
        if not 0 < self.decay <= 10:
            raise BadBolting(f"decay is {self.decay:g} a pitch", remedy="above 0 up to 10 a bolt pitch")


def joint_give(
    bolt: Quantity, gasket: Quantity, *, width: Quantity, thickness: Quantity, modulus: Quantity, pitch: Quantity
) -> JointGive:
    """The two numbers of a joint from its stiffnesses.

    lambda = pitch (kg / (4 E I pitch))^(1/4) per pitch with I = width thickness^3 / 12, give = kb lambda/(2 kg).

    Args:
        bolt: kb of one bolt.
        gasket: kg, stiffness of the gasket share of one bolt, e.g. `stiffness.block_stiffness`.
        width: radial width of the flange ring.
        thickness: of the flange, in the direction of the bolts.
        modulus: E of the flange.
        pitch: distance of neighbouring bolts.

    Raises:
        BadBolting: a value not above zero, or a joint outside the range of `JointGive`.

    Source: beam on elastic foundation (Hetenyi, from memory).
    """
    kb, kg = magnitude(bolt, "N/mm", name="bolt stiffness"), magnitude(gasket, "N/mm", name="gasket stiffness")
    wide, thick = magnitude(width, "mm", name="flange width"), magnitude(thickness, "mm", name="flange thickness")
    e, apart = magnitude(modulus, "MPa", name="modulus"), magnitude(pitch, "mm", name="bolt pitch")
    if min(kb, kg, wide, thick, e, apart) <= 0:
        raise BadBolting("joint give: a stiffness or length is not above zero", remedy="values above zero")
    decay = apart * (kg / apart / (4 * e * wide * thick**3 / 12)) ** 0.25
    return JointGive(kb * decay / (2 * kg), decay)


def _inverse(square: Floats) -> Floats:
    return np.asarray(np.linalg.inv(square), dtype=np.float64)


def _closing(bolts: int, joint: JointGive, closed: bool) -> Floats:
    """The matrix kb C, shape (n, n), positive semidefinite; on a ring with all images of each bolt."""
    checked_count(bolts, what="interaction")
    apart = np.abs(np.arange(bolts)[:, None] - np.arange(bolts)[None, :]).astype(np.float64)
    # e^-x (cos x + sin x) is the real part of turn e^(-turn x) with turn = 1 - i; the images are a geometric series.
    turn, way, round_ = 1 - 1j, joint.decay * apart, joint.decay * bolts
    total = np.exp(-turn * way)
    if closed:
        images = np.exp(-turn * (round_ + way)) + np.exp(-turn * (round_ - way))
        total = total + images / -np.expm1(-turn * round_)
    total = (turn * total).real
    return np.asarray(joint.give * total, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PassOutcome:
    """State at the end of one pass or round, all in percent of the target.

    number, kind: of the pass. round: 1 for pattern passes, counted for circular rounds. preload: of bolts 1..n.
    moved: whether any nut turned.
    """

    number: int
    kind: str
    round: int
    preload: tuple[float, ...]
    moved: bool

    @property
    def lowest(self) -> float:
        """Lowest preload of a bolt, percent of the target."""
        return min(self.preload)

    @property
    def highest(self) -> float:
        """Highest preload of a bolt, percent of the target."""
        return max(self.preload)

    @property
    def mean(self) -> float:
        """Mean preload, percent of the target."""
        return sum(self.preload) / len(self.preload)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prediction:
    """Preload of every bolt after every step.

    history: float64, shape (steps + 1, n), percent of the target; row 0 is the start. taken: for each step its pass
    number, round and bolts. outcomes: one for each pass or round. still: whether the last round moved no nut (False
    too when the plan has no circular rounds).
    """

    history: Floats
    taken: tuple[tuple[int, int, tuple[int, ...]], ...]
    outcomes: tuple[PassOutcome, ...]
    still: bool

    @property
    def rounds(self) -> int:
        """How many circular rounds were made."""
        return sum(outcome.kind == "circular" for outcome in self.outcomes)


def predict(
    plan: Sequence[Pass], bolts: int, *, joint: JointGive, closed: bool = True, snug_percent: float = 0.0
) -> Prediction:
    """Follow a pass plan step by step.

    Args:
        plan: passes from `passes.passes`; a pass 'until still' is repeated up to five rounds.
        bolts: n, 1..96.
        joint: how the joint gives, from `joint_give`.
        closed: True for a circle or the edge of a cover, False for a line.
        snug_percent: preload of all bolts after snug, in percent of the target, 0 to 50; 0 means nuts still free.

    Returns:
        Preloads in percent of the target.

    Raises:
        BadBolting: count out of range, a bolt in the plan that is not there, snug out of range.

    Source: the model in this module's first lines.
    """
    if not 0 <= snug_percent <= 50:
        raise BadBolting(f"snug is {snug_percent:g} % of the target", remedy="0 to 50 %")
    if any(not 1 <= bolt <= bolts for one in plan for bolt in one.order):
        raise BadBolting(
            f"interaction: the plan has bolts that a group of {bolts} has not", remedy=f"bolts 1 to {bolts}"
        )
    state = _State(bolts, joint, closed, snug_percent)
    history, taken, outcomes = [state.preload.copy()], [], []
    moved = True
    for one in plan:
        for turn in range(1, (ROUNDS_BEFORE_CAUSE if one.until_still else 1) + 1):
            moved = False
            for step, percent in zip(one.steps, one.percents, strict=True):
                moved |= state.tighten(np.array(step) - 1, percent)
                history.append(state.preload.copy())
                taken.append((one.number, turn, step))
            reached = tuple(float(share) for share in state.preload)
            outcomes.append(PassOutcome(number=one.number, kind=one.kind, round=turn, preload=reached, moved=moved))
            if not moved:
                break
    still = bool(outcomes) and outcomes[-1].kind == "circular" and not moved
    return Prediction(history=np.array(history), taken=tuple(taken), outcomes=tuple(outcomes), still=still)


class _State:
    """Nut heights and preloads while a plan is followed; units: percent of the target (heights times kb)."""

    def __init__(self, bolts: int, joint: JointGive, closed: bool, snug_percent: float) -> None:
        self._give = np.eye(bolts) + _closing(bolts, joint, closed)
        self._whole = _inverse(self._give)
        self.preload: Floats = np.full(bolts, float(snug_percent))
        self._height: Floats = self._give @ self.preload
        self._placed = np.full(bolts, snug_percent > 0)

    def tighten(self, places: NDArray[np.int64], percent: float) -> bool:
        """Bring the bolts of one step to a share together; those already there stay. Says whether a nut turned."""
        lacking = percent - self.preload[places]
        places = places[lacking > percent * STILL_PERCENT / 100]
        if not len(places):
            return False
        if bool(self._placed.all()) and bool((self.preload > 0).all()):
            rise = percent - self.preload[places]
            if len(places) == 1:
                after = self.preload + self._whole[:, places[0]] * (rise[0] / self._whole[places[0], places[0]])
            else:
                pulled = np.linalg.solve(self._whole[np.ix_(places, places)], rise)
                after = self.preload + self._whole[:, places] @ pulled
            if bool((after >= 0).all()):
                after[places] = percent
                self._settle(places, after)
                return True
        self._settle(places, self._balance(places, percent))
        return True

    def _settle(self, places: NDArray[np.int64], after: Floats) -> None:
        self.preload = after
        self._height[places] = self._give[places] @ after
        self._placed[places] = True

    def _balance(self, places: NDArray[np.int64], percent: float) -> Floats:
        """Preloads with the step's bolts at the share and all other placed nuts where they are; none below zero."""
        count = len(self.preload)
        free = self._placed.copy()
        free[places] = False
        tight = free & (self.preload > 0)
        for _ in range(4 * count):
            after: Floats = np.zeros(count)
            after[places] = percent
            inside = np.flatnonzero(tight)
            if len(inside):
                missing = self._height[inside] - self._give[np.ix_(inside, places)].sum(axis=1) * percent
                after[inside] = np.linalg.solve(self._give[np.ix_(inside, inside)], missing)
            slack = tight & (after < 0)
            if slack.any():  # loose ones leave all at once
                tight &= ~slack
                continue
            over = np.where(free & ~tight, self._height - self._give @ after, 0.0)
            if over.max() <= _REACHED:
                return after
            tight[int(np.argmax(over))] = True  # a nut that the flange reaches again comes back, one at a time
        raise BadBolting(
            "interaction: the joint is too soft to follow", remedy="a stiffer joint, or snug the bolts first"
        )
