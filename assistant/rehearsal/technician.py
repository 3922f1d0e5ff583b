"""A simulated technician for rehearsals: hears the prompts, works, and speaks into the real loop, with slips.

It is microphone and ear in one: as a microphone it gives blocks of its noisy surroundings with its own speech in them,
on a clock of its own that runs as fast as it is asked; as an ear it is told of each prompt and answers after a
reaction time. It knows what is asked from the session's state, as a person would from the words; what a rehearsal
tries out is the assistant's hearing and the procedure, not the technician's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from assistant.events import SAMPLE_RATE_HZ, Alternative, Measured, Measurement, Pass
from assistant.ports import Block, Samples, Spoken
from assistant.procedure.acceptance import in_unit
from assistant.procedure.state import State
from assistant.rehearsal.slips import SLIPS, cough, mumbled
from assistant.speech.numbers import forms
from assistant.speech.wording import ONES

BLOCK = 512  # samples, 32 ms
PATIENCE_S = 5.0  # without a reply a person says it again after so long
NAME = "Robin Marsh"
MISHEARD_NAMES = 4  # answers after which a name that is read back wrongly is let pass
GIVE_UP = 20  # repetitions of one answer until the rehearsal is called off

SPOKEN_UNITS = {"degC": "degrees", "degF": "degrees", "mm": "millimetres", "in": "inches", "bar": "bar"}
"""How it says the unit of a measured figure."""

Voice = Callable[[str], tuple[Samples, int, int]]
"""Text -> its sound (int16, 16 kHz), first sample of speech, the one after the last."""
Noise = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One thing the technician said, for the reckoning.

    Args:
        start_sample, end_sample: of its speech, on the microphone's clock.
        reading: what the wrench showed, when this was a reading; None for everything else.
    """

    text: str
    start_sample: int
    end_sample: int
    reading: Measured | None = None


@dataclass(slots=True)
class _Bolt:
    """What the technician knows about the bolt in hand."""

    place: tuple[int, int, int | None]
    reading: Measured | None = None
    slip: str = ""
    tries: int = 0
    slipped: bool = False
    report: str = ""


class Technician:
    """See the module.

    Args:
        voice: how it sounds.
        noise: its surroundings at a root mean square of 1, looped; None for near silence.
        speech_rms: level of its speech over active frames, full scale is 1.
        snr_db: of its speech over the noise.
        slips: names from `slips.SLIPS` that it makes, each at a bolt of its own.
        seed: the same seed does and says the same.
    """

    name = "simulated technician"

    def __init__(
        self,
        *,
        voice: Voice,
        noise: Noise | None,
        snr_db: float,
        slips: tuple[str, ...],
        seed: int,
        speech_rms: float = 0.06,
    ) -> None:
        self.said: list[Said] = []
        self.heard: list[Block] = []
        self.gave_up = False
        self._voice, self._speech_rms = voice, speech_rms
        self._chance = np.random.default_rng(seed)
        self._noise = noise
        self._noise_rms = speech_rms * 10 ** (-snr_db / 20)
        self._slips = list(slips)
        self._state: Callable[[], State] = State
        self._now, self._origin = 0, 0  # samples since the beginning; where the session's own clock began
        self._sound: dict[int, npt.NDArray[np.float64]] = {}
        self._due = 0
        self._bolt = _Bolt((0, 0, None))
        self._closed = False
        self._bolts_seen = 0

    def watch(self, state: Callable[[], State]) -> None:
        """Tell it how to look at the session it takes part in."""
        self._state = state

    # ------------------------------------------------------------------------------------------------ as a microphone
    def read(self) -> Block | None:
        """The next 32 ms; None once it was closed, or gave up."""
        if self._closed or self.gave_up:
            return None
        if self._now >= self._due:
            self._answer()
        mixed = self._chance.standard_normal(BLOCK) * 1e-4
        if self._noise is not None:
            place = (np.arange(self._now, self._now + BLOCK)) % len(self._noise)
            mixed = mixed + self._noise[place] * self._noise_rms
        for start, sound in list(self._sound.items()):
            self._add(mixed, start, sound)
        samples = np.rint(np.clip(mixed, -0.999, 0.999) * 32767).astype(np.int16)
        self.heard.append(Block(samples, self._now))
        self._now += BLOCK
        return Block(samples, self._now - BLOCK - self._origin)

    def come_back(self, at_sample: int) -> None:
        """The session goes on after it was left open: its clock begins anew at so many samples of the record."""
        self._now = self._origin = at_sample
        self._sound.clear()
        self._due = self._now

    def close(self) -> None:
        """Walk away."""
        self._closed = True

    def _add(self, mixed: npt.NDArray[np.float64], start: int, sound: npt.NDArray[np.float64]) -> None:
        first, last = max(start, self._now), min(start + len(sound), self._now + BLOCK)
        if first < last:
            mixed[first - self._now : last - self._now] += sound[first - start : last - start]
        if start + len(sound) <= self._now + BLOCK:
            self._sound.pop(start, None)

    # -------------------------------------------------------------------------------------------------------- as an ear
    def hears(self, spoken: Spoken) -> None:
        """A prompt was spoken: answer after a while, or say it again if none comes."""
        state = self._state()
        working = state.current_pass is not None and state.dialogue == "guiding"
        wait = self._chance.uniform(0.9, 2.5) if working else self._chance.uniform(0.4, 1.0)
        self._due = self._origin + spoken.end_sample + round(wait * SAMPLE_RATE_HZ)

    @property
    def origin(self) -> int:
        """Where the session's own clock began, in samples since the beginning."""
        return self._origin

    def _answer(self) -> None:
        state = self._state()
        place = (state.stage, state.round, state.bolt)
        if place != self._bolt.place:
            self._bolt = _Bolt(place, slip=self._next_slip(state))
        self._bolt.tries += 1
        if self._bolt.tries > GIVE_UP or state.dialogue in ("helper", "closed"):
            self.gave_up = True
            return
        self._due = self._now + round(PATIENCE_S * SAMPLE_RATE_HZ)
        if self._bolt.slip and not self._bolt.slipped and state.dialogue == "guiding":
            self._bolt.slipped = True
            if self._slip(state, self._bolt.slip):
                return
        self._speak(*self._words(state))

    def _next_slip(self, state: State) -> str:
        item = state.current_pass
        if item is None or item.kind != "pattern" or not self._slips:
            return ""
        self._bolts_seen += 1
        return self._slips.pop(0) if self._bolts_seen % 2 == 0 else ""

    # ----------------------------------------------------------------------------------------------------- what it says
    def _words(self, state: State) -> tuple[str, Measured | None]:
        """Words for what is due, and the reading in them."""
        item, known = state.item, self._bolt
        if state.dialogue in ("paused", "stopped"):
            return "resume", None
        if state.dialogue in ("reasoning", "noting"):
            return "rust on the nut face", None
        if state.dialogue == "naming":
            return self._name(state), None
        if state.dialogue == "waiting":
            return "leave it open", None
        if isinstance(item, Measurement):
            return self._figure(item, state)
        if not isinstance(item, Pass):
            return self._phrase(state), None
        if state.dialogue == "asking" and state.pending is not None:
            return self._confirm(state.pending.heard)
        if item.kind == "snug":
            known.report = known.report or str(self._chance.choice(["snug", "done"]))
            return known.report, None
        if item.goes_round:
            known.report = self._movement(state)
            return known.report, None
        if known.reading is None:
            known.reading = self._reading(item)
        if state.dialogue == "choosing":
            return self._choice(state), None
        return self._say(known.reading, state, item), known.reading

    def _name(self, state: State) -> str:
        """The name, and yes to it; a name that was misheard is said again once, then let pass, as people do."""
        if not state.name_heard:
            return NAME
        right = state.name_heard.casefold() == NAME.casefold() or self._bolt.tries > MISHEARD_NAMES
        return self._yes_or_no(right)

    def _phrase(self, state: State) -> str:
        """The answer to a question: its phrase. To a read-back of it yes or no; at a hold point the phrase again."""
        question, pending = state.question, state.pending
        if question is None:
            return "status"
        if state.dialogue == "asking" and pending is not None and not question.hold:
            right = pending.heard.command == question.phrase
            return question.phrase if right and state.half is not None else self._yes_or_no(right)
        return question.phrase

    def _figure(self, item: Measurement, state: State) -> tuple[str, Measured | None]:
        """A measured figure well inside of its limits, and yes or no to a read-back of it."""
        low = float(item.low if item.low is not None else 0)
        high = float(item.high if item.high is not None else low + 100)
        known = self._bolt
        known.reading = known.reading or Measured(_inside(low, high), item.unit)
        if state.dialogue == "asking" and state.pending is not None:
            return self._confirm(state.pending.heard)
        if state.dialogue == "figures":
            return " ".join(ONES[int(c)] for c in str(known.reading.value)), known.reading
        return f"{forms(known.reading.value)[0]} {SPOKEN_UNITS[item.unit]}", known.reading

    def _confirm(self, pending: Alternative) -> tuple[str, Measured | None]:
        truth = self._bolt.reading
        if pending.value is None:
            right = pending.command is not None and pending.command in self._bolt.report
            return (self._bolt.report if right and self._state().half is not None else self._yes_or_no(right)), None
        if self._state().half is not None and truth is not None:
            return forms(truth.value)[0], truth  # the yes was not heard: the value again
        right = truth is not None and pending.value == truth.value and pending.unit in (None, truth.unit)
        return self._yes_or_no(right), None

    def _yes_or_no(self, right: bool) -> str:
        """Yes or no; a yes that was not heard is followed by the thing itself."""
        return "yes" if right else "no"

    def _choice(self, state: State) -> str:
        for words, offered in zip(("one", "two"), state.choices, strict=False):
            if self._bolt.reading is not None and offered.value == self._bolt.reading.value:
                return words
        return "no"

    def _movement(self, state: State) -> str:
        item = state.current_pass
        assert item is not None
        first = state.round == 1 and item.phase != "re-check" and item.last_round > 1
        moves = first and state.bolt in item.bolts[1:3]
        return "it moved" if moves else "did not move"

    def _reading(self, item: Pass) -> Measured:
        """What the wrench shows: near its setting, whole units, inside the window."""
        assert item.setting is not None and item.low is not None and item.high is not None
        low, high = int(item.low.value.to_integral_value()) + 1, int(item.high.value.to_integral_value()) - 1
        usual = int(item.setting.value)
        if low > high or item.measures == "length" or self._chance.random() < 0.5:
            return item.setting
        value = int(np.clip(round(self._chance.normal(usual, max(1.0, (high - low) / 5))), low, high))
        return Measured(Decimal(value), item.setting.unit)

    def _say(self, reading: Measured, state: State, item: Pass) -> str:
        if state.dialogue == "figures" or self._bolt.tries > 3:
            return " ".join("point" if c == "." else ONES[int(c)] for c in f"{reading.value.normalize():f}")
        assert item.setting is not None
        ways = forms(reading.value)
        words = ways[0] if self._chance.random() < 0.5 else str(self._chance.choice(ways[:4]))
        return f"{words} newton metres" if reading.unit == "N*m" and self._chance.random() < 0.25 else words

    def _slip(self, state: State, slip: str) -> bool:
        """Make a slip; True when it is all that is said for now."""
        item, known = state.current_pass, self._bolt
        assert item is not None and item.low is not None and item.setting is not None
        known.reading = known.reading or self._reading(item)
        if slip == "cough":
            self._place(cough(self._chance) * self._speech_rms, "(cough)", None)
        elif slip == "mumble":
            sound, first, past = self._voice(self._say(known.reading, state, item))
            self._place(mumbled(self._scaled(sound[first:past])), "(mumbles)", known.reading)
        elif slip == "out-of-window":
            whole = Decimal("0.001") if item.measures == "length" else Decimal(1)
            low = Measured((item.low.value * Decimal("0.9")).quantize(whole), item.setting.unit)
            if in_unit(low, item.setting.unit) >= float(item.low.value):
                return False
            self._speak(forms(low.value)[0], low)
        elif slip == "wrong-first":
            wrong = (
                item.setting if item.setting != known.reading else Measured(item.setting.value + 1, item.setting.unit)
            )
            self._speak(f"{forms(wrong.value)[0]} no {forms(known.reading.value)[0]}", known.reading)
        else:
            self._speak(SLIPS[slip], None)
        return True

    def _speak(self, text: str, reading: Measured | None) -> None:
        sound, first, past = self._voice(text)
        self._place(self._scaled(sound[first:past]), text, reading)

    def _scaled(self, sound: Samples) -> npt.NDArray[np.float64]:
        floats = sound / 32768.0
        frames = floats[: len(floats) // 320 * 320].reshape(-1, 320)
        power = (frames**2).mean(axis=1) if len(frames) else np.array([(floats**2).mean() + 1e-12])
        level = float(np.sqrt(power[power >= power.max() * 1e-3].mean()))
        return np.asarray(floats * (self._speech_rms / max(level, 1e-6)), dtype=np.float64)

    def _place(self, sound: npt.NDArray[np.float64], text: str, reading: Measured | None) -> None:
        start = self._now
        self._sound[start] = sound
        self.said.append(Said(text=text, start_sample=start, end_sample=start + len(sound), reading=reading))
        self._due = start + len(sound) + round(PATIENCE_S * SAMPLE_RATE_HZ)


def _inside(low: float, high: float) -> Decimal:
    """A figure well inside of its limits, in whole units where there is one."""
    whole = Decimal(round(low + 0.8 * (high - low)))
    return whole if low <= whole <= high else Decimal(f"{(low + high) / 2:.1f}")
