"""Why answers are not understood, as far as their sound tells: too faint, overdriven, drowned in noise."""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import median

from assistant.events import SAMPLE_RATE_HZ, TroubleFound
from assistant.speech.utterance import Utterance

IN_A_ROW = 3
ANSWER_S = (0.2, 4.0)
"""How long answers take. What is longer, or goes on from other speech within APART_S, is talk among others: that it is
faint or drowned tells nothing about the microphone (our own choice)."""
APART_S = 1.5
REPEATED_S = 12.0
"""Who is not answered says it again; utterances further apart than this are no row (our own choice)."""
ALIKE_DB = 10.0
"""Who is no fainter than this, against the answers that were understood, may be the same person (our own choice)."""
FAINT_DBFS = -50.0
"""Speech below this is hardly heard. The same clip turned down: at -44 dBFS understood as before, at -54 asked, at -60
rejected each time (one speaker, quiet room, 2026-12-01)."""
NOISY_DB = 6.0
"""Speech less above the noise than this is mostly not understood (the listeners' table in .docs/hearing.md, 5 dB)."""
CLIPPED_SHARE = 0.02
USUAL = 5
"""So many understood answers tell how a person usually sounds here."""
FAINTER_DB = 15.0
"""A level that falls by so much and stays there is no mood: the microphone has slipped, or another one listens."""
NOISIER_DB = 12.0
"""So much more noise is another machine; told only where it leaves less than STILL_CLEAR_DB above it."""
STILL_CLEAR_DB = 12.0


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
    """Counts answers that were not understood, and compares level and noise with what they were at first; says once for
    each reason what to change.
    """

    _row: list[Utterance] = field(default_factory=list)
    _unheard_to: int | None = None  # end of what was not understood last
    _said: set[str] = field(default_factory=set)
    _usual: list[Utterance] = field(default_factory=list)
    _last: list[Utterance] = field(default_factory=list)

    def take(self, utterance: Utterance, *, understood: bool, soon: bool = True) -> tuple[TroubleFound, ...]:
        """The next utterance; what the person should be told now.

        Args:
            soon: it began soon behind a prompt. Elsewhere talk begins no row of answers, but somebody who is as loud as
                the answers were that were understood.
        """
        if understood:
            self._row.clear()
            return self._compared(utterance)
        if not self._like_an_answer(utterance):
            self._row.clear()
            return ()
        self._row = [u for u in self._row if _apart_s(u, utterance) <= REPEATED_S]
        if not (self._row or soon or self._as_loud_as_answers(utterance)):
            return ()
        self._row.append(utterance)
        if len(self._row) < IN_A_ROW:
            return ()
        row, self._row = self._row[-IN_A_ROW:], []
        middle = sorted(row, key=lambda u: u.level_dbfs)[IN_A_ROW // 2]
        what = why_unheard(middle.level_dbfs, middle.snr_db, middle.clipped)
        if not what:
            return ()
        over = "" if middle.snr_db is None else f", {middle.snr_db:.0f} dB over the noise"
        share = f", {middle.clipped:.0%} of it overdriven" if middle.clipped > CLIPPED_SHARE else ""
        detail = f"{IN_A_ROW} answers in a row not understood: speech at {middle.level_dbfs:.0f} dBFS{over}{share}"
        return self._once(what, detail)

    def _as_loud_as_answers(self, utterance: Utterance) -> bool:
        return bool(self._usual) and utterance.level_dbfs >= median(u.level_dbfs for u in self._usual) - ALIKE_DB

    def _like_an_answer(self, utterance: Utterance) -> bool:
        before, self._unheard_to = self._unheard_to, utterance.speech_end
        seconds = (utterance.speech_end - utterance.speech_start) / SAMPLE_RATE_HZ
        alone = before is None or utterance.speech_start - before > APART_S * SAMPLE_RATE_HZ
        return alone and ANSWER_S[0] <= seconds <= ANSWER_S[1]

    def _compared(self, utterance: Utterance) -> tuple[TroubleFound, ...]:
        """What the last understood answers tell against the first ones."""
        if len(self._usual) < USUAL:
            self._usual.append(utterance)
            return ()
        self._last = [*self._last, utterance][-IN_A_ROW:]
        if len(self._last) < IN_A_ROW:
            return ()
        usual_db, level_db = (median(u.level_dbfs for u in some) for some in (self._usual, self._last))
        noises = [[u.level_dbfs - u.snr_db for u in some if u.snr_db is not None] for some in (self._usual, self._last)]
        if level_db < usual_db - FAINTER_DB:
            return self._once("fainter", f"answers at {level_db:.0f} dBFS, at first {usual_db:.0f} dBFS")
        if all(noises):
            before_db, noise_db = (median(some) for some in noises)
            if noise_db > before_db + NOISIER_DB and level_db - noise_db < STILL_CLEAR_DB:
                return self._once("noisier", f"noise at {noise_db:.0f} dBFS, at first {before_db:.0f} dBFS")
        return ()

    def _once(self, what: str, detail: str) -> tuple[TroubleFound, ...]:
        if what in self._said:
            return ()
        self._said.add(what)
        return (TroubleFound(what=what, detail=detail),)


def _apart_s(one: Utterance, later: Utterance) -> float:
    return (later.speech_start - one.speech_end) / SAMPLE_RATE_HZ
