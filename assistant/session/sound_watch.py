"""Why answers are not understood, as far as their sound tells: too faint, overdriven, drowned in noise."""

from __future__ import annotations

from dataclasses import dataclass, field

from assistant.events import TroubleFound
from assistant.speech.utterance import Utterance

IN_A_ROW = 3
FAINT_DBFS = -50.0
"""Speech below this is hardly heard. The same clip turned down: at -44 dBFS understood as before, at -54 asked, at -60
rejected each time (one speaker, quiet room, 2026-12-01)."""
NOISY_DB = 6.0
"""Speech less above the noise than this is mostly not understood (the listeners' table in DEVELOPERS, 5 dB)."""
CLIPPED_SHARE = 0.02


def why_unheard(level_dbfs: float, snr_db: float | None, clipped: float) -> str:
    """A key of the catalogues' `equipment`; "" where the sound is good enough.

    Args:
        level_dbfs: of the speech.
        snr_db: over the noise; None where no noise was heard yet.
        clipped: share of samples at full scale.
    """
    if clipped > CLIPPED_SHARE:
        return "overdriven"
    if level_dbfs < FAINT_DBFS:
        return "hardly-heard"
    return "too-noisy" if snr_db is not None and snr_db < NOISY_DB else ""


@dataclass(slots=True)
class SoundWatch:
    """Counts answers that were not understood, and says once for each reason what to change."""

    _row: list[Utterance] = field(default_factory=list)
    _said: set[str] = field(default_factory=set)

    def take(self, utterance: Utterance, *, understood: bool) -> tuple[TroubleFound, ...]:
        """The next utterance; what the person should be told now."""
        if understood:
            self._row.clear()
            return ()
        self._row.append(utterance)
        if len(self._row) < IN_A_ROW:
            return ()
        row, self._row = self._row[-IN_A_ROW:], []
        middle = sorted(row, key=lambda u: u.level_dbfs)[IN_A_ROW // 2]
        what = why_unheard(middle.level_dbfs, middle.snr_db, middle.clipped)
        if not what or what in self._said:
            return ()
        self._said.add(what)
        over = "" if middle.snr_db is None else f", {middle.snr_db:.0f} dB over the noise"
        share = f", {middle.clipped:.0%} of it overdriven" if middle.clipped > CLIPPED_SHARE else ""
        detail = f"{IN_A_ROW} answers in a row not understood: speech at {middle.level_dbfs:.0f} dBFS{over}{share}"
        return (TroubleFound(what=what, detail=detail),)
