"""The only loop: sound in, events on disk, then words out. Joins microphone, listeners, procedure, journal and speaker.

Order of everything that is heard: audio on disk, events appended and synced, state folded, and only then something is
said. While the assistant speaks (and for its echo's tail) sound is read and thrown away by its time; with a headset it
is heard, but only 'stop' and 'pause' count. Time is counted in samples of the microphone; the wall clock is the
journal's.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from assistant.errors import CannotHear
from assistant.events import (
    SAMPLE_RATE_HZ,
    ClockSet,
    ConfirmationDoubted,
    EntryTakenBack,
    Event,
    HelperAsked,
    MeasurementRefused,
    NameKept,
    NoteKept,
    NotUnderstood,
    Paused,
    PromptSpoken,
    QuestionRefused,
    ReadingDoubted,
    ReadingImpossible,
    ReadingKept,
    ReadingOutside,
    ReadingTakenBack,
    ReasonGiven,
    SessionLeft,
    SoundLost,
    TimeLeft,
    Told,
    TroubleFound,
    UtteranceHeard,
)
from assistant.journal.clock import Clock, running_beside, utc_now
from assistant.journal.reading import Entry
from assistant.journal.recording import Recording
from assistant.ports import (
    Activity,
    Block,
    Canceller,
    KnownSound,
    Lost,
    Microphone,
    Notice,
    Piece,
    Samples,
    Speaker,
    Spoken,
    Typed,
)
from assistant.procedure.acceptance import may_go_on
from assistant.procedure.addressed import refuses, soon
from assistant.procedure.decide import begin, decide, time_is_up, unanswered
from assistant.procedure.effects import effects, expecting, likely
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.procedure.table import MEANS
from assistant.session.ahead import Outcome, ReadAhead
from assistant.session.hearing import Hearing, alternative, typed, with_note_text
from assistant.session.manner import Manner, Turn
from assistant.session.overhearing import HALTING, Caught, Far, Overhearing
from assistant.session.self_hearing import SelfHearing
from assistant.session.sound_watch import SoundWatch
from assistant.session.uttered import FORESEEN, Kept, typed_in, uttered
from assistant.session.waits import clock_set, is_over, time_left, unsure, waited_s
from assistant.speech.endpoint import Endpointer, EndpointEvent
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.utterance import InputDead, SpeechEnded, SpeechPaused, SpeechResumed, Utterance
from assistant.speech.vocabulary import grammar_for

PER_MS = SAMPLE_RATE_HZ // 1000
STEP = 20 * PER_MS
UNNOTICED_LOSSES = frozenset({"overrun", "sound system started anew"})
"""Sound that is missing while the microphone works on: recorded, and nobody is stopped for it."""
REMIND_AFTER = 8 * SAMPLE_RATE_HZ
"""After a prompt without an answer. People answer a question within 2.5 s or repeat it after 5 (assumed, no source)."""
SOONEST_ANSWER = 700 * PER_MS
"""Sooner than this after a prompt's first sound nobody answers it (common practice, no source)."""
LONGEST_HALT = 1_200 * PER_MS
"""Since its beginning: a 'stop' that began under a prompt has been said by then."""
NO_SOUND = np.zeros(0, np.int16)
_Doubtful = (
    ConfirmationDoubted
    | EntryTakenBack
    | MeasurementRefused
    | NameKept
    | NotUnderstood
    | NoteKept
    | QuestionRefused
    | ReadingDoubted
    | ReadingImpossible
    | ReadingKept
    | ReadingOutside
    | ReadingTakenBack
    | ReasonGiven
)
"""What makes an utterance worth hearing again where it was sure: doubt, refusal, correction, free speech."""
_NothingTaken = HelperAsked | NotUnderstood | Told
"""Replies to an utterance of which nothing went into the record."""


class Session:
    """One session at one joint, from its first prompt to its seal or its leaving.

    Args:
        recording: open, new or resumed; `state` is the fold of its entries.
        overhearing: a second voice activity (each keeps a memory), to hear 'stop' under our own prompts; None where
            nobody can speak meanwhile.
        canceller: takes our prompts out of what the microphone hears; for a headset only where it hears them after all.
        watch: told of every entry after it is on disk (transcript, glance board).
        beside: what is said besides after a batch of events, and recorded with it (a practice plays the joint).
        begun_at: sample up to which the microphone was read before.
        clock: the wall clock that the journal stamps with; waits are counted by it.
        closing: called when the joint is closed and on disk, before its last words: puts the seal on.
    """

    def __init__(
        self,
        *,
        recording: Recording,
        state: State,
        microphone: Microphone,
        speaker: Speaker,
        hearing: Hearing,
        activity: Activity,
        overhearing: Activity | None = None,
        canceller: Canceller | None = None,
        manner: Manner,
        endpoint: EndpointSettings | None = None,
        watch: Callable[[Sequence[Entry]], None] = lambda _entries: None,
        closing: Callable[[], None] = lambda: None,
        clock: Clock = utc_now,
        begun_at: int = 0,
        beside: Callable[[State, Sequence[Event]], str] = lambda _state, _events: "",
    ) -> None:
        self.recording, self.state, self.manner = recording, state, manner
        self.turns: list[Turn] = []
        self._microphone, self._speaker, self._hearing, self._watch = microphone, speaker, hearing, watch
        self._closing, self._clock, self._clock_due = closing, clock, 0
        self._running = running_beside(clock)
        self._beside = beside
        self._base = (recording.entries[-1].sample if recording.entries else 0) - begun_at
        self._now = begun_at  # samples of the microphone that were taken in
        self._closed_until = 0  # the microphone is not heard before this sample
        self._spoke = (0, 0)
        self._remind_at: int | None = None
        self._reminded = False  # since something was last answered
        self._watching = SoundWatch()
        self._endpointer = Endpointer(activity, endpoint, at_sample=begun_at)
        self._overheard = (
            Overhearing(
                overhearing, hearing, self._grammar, endpoint=endpoint, canceller=None if manner.headset else canceller
            )
            if overhearing is not None
            else None
        )
        self._canceller, self._self_hearing = canceller, SelfHearing()
        self._reads_back = False  # what is being said tells what was recorded
        self._caught: Caught | None = None  # under the prompt that sounds
        self._meanwhile: deque[Piece] = deque()  # came while a prompt sounded, still to be taken in
        self._reading = ReadAhead(
            hearing, self._endpointer, self._grammar, may_go_on=self._may_go_on, comes_of=self._comes_of
        )

    # --------------------------------------------------------------------------------------------------- running
    def run(self, first: Sequence[Event]) -> State:
        """Record the opening events, say what they call for, then listen until the joint is closed or sound ends.

        Args:
            first: `SessionOpened` and `WorkLaidOut`, or `SessionResumed`.

        Returns:
            The last state; `state.closed` tells whether the joint was finished.

        Raises:
            RecordNotWritable, SpeakerFailed: guiding stopped; everything recorded is safe.
        """
        for event in first:
            told = (*self._time_left(), event)
            after = fold(self.state, told)
            self._settle((*told, *begin(event, after)) if event is first[-1] else told)
        if unsure(self.state, self.recording.entries, self._clock(), self._running()):
            self._settle((ClockSet(seconds=0, wait="unsure"),))
        while not (self.state.closed or self.state.left):
            self._look_at_the_clock()
            piece = self._meanwhile.popleft() if self._meanwhile else self._microphone.read()
            if piece is None:
                for last in self._endpointer.finish():
                    self._endpoint(last)
                break
            self._take(piece)
        return self.state

    def leave(self, reason: str) -> None:
        """Record that the session ends before the joint is finished. Nothing is said."""
        if not (self.state.closed or self.state.left):
            self._append((SessionLeft(reason=reason),))

    @property
    def at_sample(self) -> int:
        """Samples since the session's start."""
        return self._base + self._now

    def seconds_left(self) -> int | None:
        """What is left of the running wait right now; None where none runs."""
        told = self._time_left()
        return told[-1].seconds if told else None

    def _take(self, piece: Piece) -> None:
        if isinstance(piece, Typed):
            self._now = max(self._now, piece.at_sample)
            self._typed(piece.text)
        elif isinstance(piece, Lost):
            self._now = piece.at_sample + piece.samples
            self._lost(piece)
        elif isinstance(piece, Notice):
            self._settle((TroubleFound(what=piece.what, detail=piece.detail),))
        else:
            self._block(piece)

    def _block(self, block: Block) -> None:
        """Take a block in small steps, so that the clock stands right at each event however the sound was cut."""
        for offset in range(0, len(block.samples), STEP):
            if self.state.closed or self.state.left:
                return
            self._step(block.samples[offset : offset + STEP], block.at_sample + offset)
            self._remind()

    def _step(self, samples: Samples, start: int) -> None:
        self._now = start + len(samples)
        hidden = 0 if self.manner.headset else min(len(samples), max(0, self._closed_until - start))
        if hidden:
            self._endpointer.skip(hidden)
            self._reading.drop()
        for event in self._endpointer.feed(samples[hidden:]):
            self._endpoint(event)
        self._reading.follow()

    def _speak(self, text: str) -> Spoken:
        """Speak, and go on reading the microphone meanwhile; with a headset 'stop' cuts the prompt short."""
        if not self.manner.real_time:
            return self._speaker.say(text, max(self._now, self._spoke[1]))
        with ThreadPoolExecutor(max_workers=1, thread_name_prefix="prompt") as voice:
            speaking = voice.submit(self._speaker.say, text, self._now)
            try:
                while not speaking.done() or self._still_said():
                    piece = self._microphone.read()
                    if piece is None:
                        break
                    self._meanwhile.append(piece)
                    if isinstance(piece, Lost) and speaking.done():
                        break
                    if isinstance(piece, Block) and self._overheard is not None and self._caught is None:
                        self._caught = self._overheard.take(piece, self._far)
                        if self._caught is not None:
                            self._speaker.interrupt()
            except BaseException:  # Ctrl-C too: nobody waits for the end of the sentence, or for a loudspeaker
                self._speaker.close()
                raise
            return speaking.result()

    def _still_said(self) -> bool:
        """Whether a word that began under the prompt may be going on after its end. What began longer ago is none that
        halts; while the echo filter has learnt nothing yet it is the prompt itself.
        """
        overheard = self._overheard
        return overheard is not None and self._caught is None and 0 < overheard.speaking_for < LONGEST_HALT

    def _endpoint(self, event: EndpointEvent) -> None:
        if isinstance(event, SpeechPaused):
            self._foresee_reply(event.utterance, self._reading.paused(event.utterance, now=self._now).heard)
        elif isinstance(event, SpeechResumed):
            self._reading.resumed()
        elif isinstance(event, InputDead):
            self._pause_for("microphone silent", event.at_sample, 0)
        elif isinstance(event, SpeechEnded):
            self._ended(event.utterance)

    def _foresee_reply(self, utterance: Utterance, heard: Heard) -> None:
        """While it is waited whether the speaker goes on, what would be said if not is rendered."""
        event = self._uttered(utterance, heard, FORESEEN)
        told = self._time_left()
        foreseen = effects(self.state, (*told, event, *decide(fold(self.state, told), event)))
        self._speaker.prepare(foreseen.breaths)

    def _foresee_likely(self) -> None:
        """While nobody speaks, what would be said to the likeliest answers is rendered."""
        for text in likely(self.state):
            heard = typed(text, self._grammar())
            if not heard.ranked:
                continue
            event = typed_in(heard, FORESEEN, at_sample=self.at_sample, state=self.state.dialogue)
            told = self._time_left()
            self._speaker.prepare(effects(self.state, (*told, event, *decide(fold(self.state, told), event))).breaths)

    def _grammar(self) -> Grammar:
        return grammar_for(expecting(self.state))

    def _may_go_on(self, heard: Heard) -> bool:
        so_far = alternative(heard.ranked[0]) if heard.ranked else None
        return self.state.measurement is None and may_go_on(so_far, self.state.current_pass)

    def _comes_of(self, utterance: Utterance, heard: Heard) -> Outcome:
        """See `ReadAhead`: taken by its window or because a mistake would cost little, or refused."""
        event = self._uttered(utterance, heard, FORESEEN)
        decided = decide(self.state, event)
        if any(MEANS[type(event)].moves_on for event in decided):
            return "taken"
        return "refused" if refuses(decided) else ""

    # --------------------------------------------------------------------------------------------------- hearing
    def _ended(self, utterance: Utterance) -> None:
        sound = NO_SOUND if self.state.off_the_record else utterance.samples
        name, digest = self.recording.audio.keep(sound)  # first of all: an engine may take us along
        verdict = self._reading.ended(utterance, now=self._now)
        listened = verdict.listened
        ready = max(self._now, verdict.begun_at + round(listened.milliseconds * PER_MS))
        start = time.perf_counter()
        heard = self._free_speech(utterance, listened.heard)
        event = self._uttered(utterance, heard, Kept(name=name, sha256=digest))
        told: tuple[Event, ...] = (*self._listeners_lost(), *self._time_left())
        decided = decide(fold(self.state, told), event)
        event = self._sparing(event, decided)
        trouble = self._watching.take(utterance, understood=heard.decision != "reject", soon=soon(self.state, event))
        before_speech = self._settle((*told, event, *decided, *trouble))
        if before_speech is not None:
            spoken, said_at = before_speech
            if self.manner.real_time:
                waited = (spoken - utterance.speech_end) / PER_MS
            else:
                waited = (ready - utterance.speech_end) / PER_MS + 1000 * (said_at - start)
            self.turns.append(Turn(utterance=name, end_sample=utterance.speech_end, reply_ms=waited))

    def _sparing(self, event: UtteranceHeard, decided: Sequence[Event]) -> UtteranceHeard:
        """The utterance without what is not to be kept of it.

        Off the record, talk of which nothing was taken is not written down. A name or a note is written down, so its
        utterance still says which listeners heard it: without them it would look as if nobody had spoken. Where only
        doubtful sound is kept, the sound of what was taken at once is dropped.
        """
        taken_down = any(not isinstance(each, _NothingTaken) for each in decided)
        if self.state.off_the_record and event.decision == "reject" and not taken_down:
            return replace(event, free_text="", listeners={})
        taken = event.decision == "accept" and decided and not any(isinstance(each, _Doubtful) for each in decided)
        if self.manner.keeps == "doubtful" and taken and event.audio_sha256 is not None:
            self.recording.audio.drop(event.utterance)
            return replace(event, audio_sha256=None)
        return event

    def _halt(self, caught: Caught) -> None:
        """Do what was said under an open loudspeaker; the sound is kept as it was understood, without the echo."""
        sound = NO_SOUND if self.state.off_the_record else caught.utterance.samples
        name, digest = self.recording.audio.keep(sound)
        event = uttered(
            caught.utterance,
            caught.heard,
            Kept(name=name, sha256=digest),
            base=self._base,
            state=self.state.dialogue,
            while_speaking=True,
        )
        self._settle((event, *decide(self.state, event)))

    def _listeners_lost(self) -> tuple[TroubleFound, ...]:
        """Listeners that failed for good since the last utterance. Ends the session where none is left.

        Raises:
            CannotHear: after it was said and stored.
        """
        lost = tuple(
            TroubleFound(what="listener-lost", detail=f"listener {fault.listener} failed: {fault.reason}")
            for fault in self._hearing.faults()
        )
        if not self._hearing.deaf:
            return lost
        *others, last = lost
        self._settle((*others, replace(last, what="no-listener")))
        raise CannotHear(
            f"nothing hears any more; {last.detail}",
            remedy="`assistant guide` goes on at the same bolt; `assistant devices` tells which listeners are there",
        )

    def _uttered(self, utterance: Utterance, heard: Heard, kept: Kept) -> UtteranceHeard:
        under_prompt = self.manner.headset and self._spoke[0] <= utterance.speech_start < self._spoke[1]
        told = uttered(utterance, heard, kept, base=self._base, state=self.state.dialogue, while_speaking=under_prompt)
        return self._under_prompt(told, utterance) if under_prompt else told

    def _under_prompt(self, event: UtteranceHeard, utterance: Utterance) -> UtteranceHeard:
        """What was said into a headset while we spoke. Until it is known that the headset does not hear us only what
        halts counts; and an answer that may belong to what was before the prompt, or correct what it reads back, is
        asked about.
        """
        if not self._self_hearing.clean:
            best = event.alternatives[0].command if event.alternatives else None
            return event if best in HALTING else replace(event, decision="reject")
        if self._reads_back or utterance.speech_start < self._spoke[0] + SOONEST_ANSWER:
            return replace(event, decision="ask" if event.decision == "accept" else event.decision, accept_at=1.0)
        return event

    def _free_speech(self, utterance: Utterance, heard: Heard) -> Heard:
        """A note, a reason or a name is written down whole, by unconstrained decoding of the same weights."""
        wants_text = self.state.dialogue in ("noting", "reasoning", "naming", "explaining")
        opens_note = bool(heard.ranked) and alternative(heard.ranked[0]).kind == "note"
        return (
            with_note_text(heard, self._hearing.transcribe(utterance.samples))
            if wants_text or (opens_note and heard.decision != "reject" and not alternative(heard.ranked[0]).text)
            else heard
        )

    def _typed(self, text: str) -> None:
        name, digest = self.recording.audio.keep(NO_SOUND)
        heard = typed(text, self._grammar())
        kept = Kept(name=name, sha256=digest)
        event = typed_in(heard, kept, at_sample=self.at_sample, state=self.state.dialogue)
        told = self._time_left()
        self._settle((*told, event, *decide(fold(self.state, told), event)))

    def _look_at_the_clock(self) -> None:
        """Say that a wait is over when it is, about once a second."""
        if self.state.dialogue != "waiting" or self._now < self._clock_due:
            return
        self._clock_due = self._now + SAMPLE_RATE_HZ
        if self._tell_the_clock():
            return
        waited = waited_s(self.state, self.recording.entries, self._clock(), self._running())
        if is_over(self.state, waited):
            self._settle(time_is_up(self.state, waited_s=waited or 0))

    def _remind(self) -> None:
        """Ask an open question once more when nobody answered; then be quiet until something is answered: what noise
        and talk may lead to is no reason to ask again.
        """
        if self._remind_at is None or self._now < self._remind_at or self._endpointer.in_speech or self._meanwhile:
            return
        if self.state.closed or self.state.left:
            return
        self._remind_at = None
        again = () if self._reminded else unanswered(self.state)
        if again:
            self._reminded = True
            self._settle(again)

    def _time_left(self) -> tuple[TimeLeft, ...]:
        return time_left(self.state, self.recording.entries, self._clock(), self._running())

    def _tell_the_clock(self) -> bool:
        """Record, and where a wait runs say, that the machine's clock was set since the last entry."""
        told = clock_set(self.state, self.recording.entries, self._clock(), self._running())
        if told:
            self._settle(told)
        return bool(told)

    def _lost(self, lost: Lost) -> None:
        for event in self._endpointer.lost(lost.samples):
            self._endpoint(event)
        if lost.reason in UNNOTICED_LOSSES:
            self._append((SoundLost(reason=lost.reason, at_sample=lost.at_sample, samples=lost.samples),))
        else:
            self._pause_for(lost.reason, lost.at_sample, lost.samples)

    def _pause_for(self, reason: str, at_sample: int, samples: int) -> None:
        """A microphone that is gone or dead: recorded, and guiding pauses, so that nobody talks to a deaf assistant."""
        lost = SoundLost(reason=reason, at_sample=self._base + at_sample, samples=samples)
        standing = self.state.dialogue in ("paused", "stopped", "closed", "opening")
        self._settle((lost,) if standing else (lost, Paused(reason=reason, utterance="")))

    # ------------------------------------------------------------------------------------------ recording, speaking
    def _settle(self, events: Sequence[Event]) -> tuple[int, float] | None:
        """Record, then act. Returns the sample and the clock at which the reply began to sound, None for silence."""
        wanted = effects(self.state, events)
        self._append(events)
        further = self._beside(self.state, events)
        breaths = (*wanted.breaths, further) if further else wanted.breaths
        if self.state.closed:
            self._closing()
        self._hearing.prepare(grammar_for(wanted.listen))
        for what in wanted.adjust:
            self._speaker.adjust(what)
        self._reads_back = any(MEANS[type(event)].read_back is True for event in events)
        self._reminded = self._reminded and not any(MEANS[type(event)].moves_on for event in events)
        begun = self._say(breaths) if breaths else None
        caught, self._caught = self._caught, None
        if caught is not None and not self.manner.headset:  # with a headset it is heard again, in its place
            self._halt(caught)
        self._speaker.prepare(wanted.prepare)
        self._foresee_likely()
        return begun

    def _say(self, breaths: Sequence[str]) -> tuple[int, float]:
        """Speak breath by breath; what follows one that was cut short is not said.

        Returns:
            The sample and the clock at which the first one began to sound.
        """
        first: tuple[int, float] | None = None
        self._speaker.prepare(breaths[1:])
        for breath in breaths:
            begun = time.perf_counter()
            known = len(self._meanwhile)
            spoken = self._speak(breath)
            said_at = time.perf_counter() if not self.manner.real_time else begun
            first = first or (spoken.start_sample, said_at)
            self._spoke = (spoken.start_sample if breath is breaths[0] else self._spoke[0], spoken.end_sample)
            if spoken.end_sample > spoken.start_sample:
                self._closed_until = spoken.end_sample + self.manner.tail_ms * PER_MS
                self._remind_at = spoken.end_sample + REMIND_AFTER
            if not self.state.closed:
                self._append((*_away(spoken), self._prompt_spoken(breath, spoken)))
            if self.manner.headset and not self.state.closed:
                self._listen_for_ourselves(list(self._meanwhile)[known:])
            if spoken.cut_short:
                break
        assert first is not None
        return first

    @property
    def _far(self) -> Far | None:
        """What the loudspeaker plays, where it knows."""
        return self._speaker.playing if isinstance(self._speaker, KnownSound) else None

    def _listen_for_ourselves(self, pieces: Sequence[Piece]) -> None:
        """With a headset: whether its microphone heard the prompt. Then it is none: recorded, and said next."""
        sound = [piece for piece in pieces if isinstance(piece, Block)]
        playing = self._far
        if not sound or playing is None:
            return
        near = np.concatenate([block.samples for block in sound])
        echo = self._self_hearing.under_prompt(near, playing(sound[0].at_sample, len(near)))
        if self._overheard is not None:
            self._overheard.answers_too = self._self_hearing.clean
        if echo is None:
            return
        self.manner = replace(self.manner, headset=False)
        if self._overheard is not None:
            if self._canceller is None:
                self._overheard = None
            else:
                self._overheard.cancel_echo(self._canceller)
        detail = (
            f"the settings say headset, and the microphone hears the loudspeaker: {echo[0]:.0f} dBFS, {echo[1]} ms late"
        )
        self._meanwhile.append(Notice("hears-itself", detail, self._now))

    def _prompt_spoken(self, text: str, spoken: Spoken) -> PromptSpoken:
        return PromptSpoken(
            text=text,
            start_sample=self._base + spoken.start_sample,
            end_sample=self._base + spoken.end_sample,
            cut_short=spoken.cut_short,
            whole=spoken.whole,
            times=spoken.times,
        )

    def _append(self, events: Sequence[Event]) -> None:
        entries = self.recording.append(events, self.at_sample)
        self.state = fold(self.state, events)
        try:
            self._watch(entries)
        except OSError:  # the screen went away; the person works by ear, and everything is on disk
            self._watch = lambda _entries: None


def _away(spoken: Spoken) -> tuple[TroubleFound, ...]:
    """That the loudspeaker was away before a prompt; the prompt itself tells the person that it is back."""
    if not spoken.waited_s:
        return ()
    return (TroubleFound(what="speaker-back", detail=f"the loudspeaker was away for {spoken.waited_s:.0f} s"),)
