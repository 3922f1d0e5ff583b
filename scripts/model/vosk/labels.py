"""Which pdf each frame of a mixed batch should give: alignments of clips carried to where the clips sound."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scripts.model.sound.bank import RATE, Bank, Plan
from scripts.model.vosk.features import FRAME, HOP, frames_of

Alignment = list[tuple[int, float, float]]  # unit, start and end in seconds from the clip's start; silence left out
SLOW = 3  # features frames in one output of the network


def output_times(samples: int) -> np.ndarray:
    """Centre of what each output hears first, seconds: float64, shape (outputs,)."""
    outputs = (frames_of(samples) + SLOW - 1) // SLOW
    return (np.arange(outputs) * SLOW * HOP + FRAME / 2) / RATE


def frame_labels(segments: Sequence[tuple[int, float, float]], times: np.ndarray) -> np.ndarray:
    """Pdf at each time: int64, shape of `times`. Segments: unit, start, end in seconds, in order of time; gaps are
    silence.
    """
    unit, which = np.zeros(len(times), np.int64), np.zeros(len(times), np.int64)
    if segments:
        starts, ends = np.array([s for _, s, _ in segments]), np.array([e for _, _, e in segments])
        k = np.searchsorted(starts, times, "right") - 1
        inside = (k >= 0) & (times < ends[k.clip(0)])
        unit = np.where(inside, np.array([u for u, _, _ in segments])[k.clip(0)], 0)
        which = np.where(inside, k + 1, 0)
    same = np.concatenate([[False], which[1:] == which[:-1]])
    return 2 * unit + same


def plan_segments(
    plan: Plan, bank: Bank, alignments: Sequence[Alignment | None]
) -> list[list[tuple[int, float, float]]]:
    """Where each phone sounds in each row: unit, start, end in seconds of the row. Every clip needs an alignment."""
    rows: list[list[tuple[int, float, float]]] = [[] for _ in range(plan.rows)]
    for (row, start, size, at, speed, _), clip in zip(plan.pieces, plan.clips, strict=True):
        skipped = (start - bank.speech.start[clip]) / RATE
        for unit, begin, end in alignments[clip] or ():
            a, b = max(begin - skipped, 0.0), min(end - skipped, size / RATE)
            if b > a:
                rows[int(row)].append((unit, at / RATE + a / speed, at / RATE + b / speed))
    return rows


def plan_labels(plan: Plan, bank: Bank, alignments: Sequence[Alignment | None]) -> np.ndarray:
    """Pdf of every output of a batch: int64, shape (rows, outputs)."""
    times = output_times(plan.samples)
    return np.stack([frame_labels(s, times) for s in plan_segments(plan, bank, alignments)])
