"""What is understood in a recording: the same endpointer and listeners as at the joint, without a procedure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from assistant.events import SAMPLE_RATE_HZ, Alternative
from assistant.ports import Activity, Samples
from assistant.session.hearing import Hearing, Listened, alternative, with_note_text
from assistant.speech.endpoint import Endpointer, EndpointEvent
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.quality import measure
from assistant.speech.utterance import SpeechEnded, SpeechPaused, Utterance

STEP = 320  # samples, 20 ms: as from a microphone
TAKE_WHOLE_S = 8.0
"""A recording up to so long in which no speech stands out is read as one utterance; the listeners refuse noise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """One utterance of a recording.

    Args:
        start_sample, end_sample: of its speech, in the recording at 16 000 Hz.
        whole: no words can be missing at its edges.
    """

    start_sample: int
    end_sample: int
    whole: bool
    heard: Heard


def understand(
    samples: Samples,
    *,
    hearing: Hearing,
    activity: Activity,
    grammar: Grammar,
    endpoint: EndpointSettings | None = None,
) -> list[Understood]:
    """Find and read the utterances of a recording.

    Args:
        samples: int16, shape (n,), mono, 16 000 Hz.
    """
    activity.reset()
    endpointer = Endpointer(activity, endpoint)
    usual_ms = endpointer.patience_ms
    found: list[Understood] = []
    ahead: tuple[int, Listened] | None = None
    for event in _events(endpointer, samples):
        if isinstance(event, SpeechPaused):
            listened = hearing.listen(event.utterance.samples, grammar)
            ahead = (event.utterance.speech_end, listened)
            endpointer.patience_ms = listened.patience_ms
        elif isinstance(event, SpeechEnded):
            known = ahead[1] if ahead is not None and ahead[0] == event.utterance.speech_end else None
            found.append(_read(event.utterance, known, hearing, grammar))
            endpointer.patience_ms, ahead = usual_ms, None
    quality = measure(samples)
    if not found and not quality.silent and quality.seconds <= TAKE_WHOLE_S:
        heard = hearing.listen(samples, grammar).heard
        found.append(Understood(start_sample=0, end_sample=len(samples), whole=True, heard=heard))
    return found


def _events(endpointer: Endpointer, samples: Samples) -> Iterator[EndpointEvent]:
    for start in range(0, len(samples), STEP):
        yield from endpointer.feed(samples[start : start + STEP])
    yield from endpointer.finish()


def _read(utterance: Utterance, known: Listened | None, hearing: Hearing, grammar: Grammar) -> Understood:
    heard = (known or hearing.listen(utterance.samples, grammar)).heard
    if heard.ranked and heard.decision != "reject" and alternative(heard.ranked[0]).kind == "note":
        heard = with_note_text(heard, hearing.transcribe(utterance.samples))
    return Understood(
        start_sample=utterance.speech_start, end_sample=utterance.speech_end, whole=utterance.believable, heard=heard
    )


def document(file: str, samples: Samples, understood: list[Understood]) -> dict[str, Any]:
    """One object of the list that `hear --json` prints (DESIGN 10)."""
    return {
        "file": file,
        "seconds": round(len(samples) / SAMPLE_RATE_HZ, 3),
        "utterances": [_utterance(u) for u in understood],
    }


def _utterance(understood: Understood) -> dict[str, Any]:
    heard = understood.heard
    alternatives = [alternative(r) for r in heard.ranked]
    decision = "ask" if heard.decision == "accept" and not understood.whole else heard.decision
    best = alternatives[0] if alternatives and decision != "reject" else None
    return {
        "start_s": round(understood.start_sample / SAMPLE_RATE_HZ, 3),
        "end_s": round(understood.end_sample / SAMPLE_RATE_HZ, 3),
        "kind": _kind(best),
        "text": best.text if best is not None else heard.free_text,
        "value": _number(best),
        "unit": best.unit if best is not None else None,
        "command": best.command if best is not None and best.value is None else None,
        "bolt": best.bolt if best is not None else None,
        "corrected": bool(best is not None and best.corrected),
        "probability": round(alternatives[0].probability, 6) if alternatives else 0.0,
        "fit": None if heard.fit is None else round(heard.fit, 3),
        "decision": decision,
        "alternatives": [
            {
                "text": a.text,
                "value": _number(a),
                "unit": a.unit,
                "command": a.command if a.value is None else None,
                "probability": round(a.probability, 6),
            }
            for a in alternatives
        ],
        "listeners": heard.by_listener,
        "agreed": heard.agreed,
        "free_text": heard.free_text,
    }


def _kind(best: Alternative | None) -> str:
    if best is None:
        return "none"
    return "bolt" if best.kind == "command" and best.bolt is not None else best.kind


def _number(best: Alternative | None) -> int | float | None:
    if best is None or best.value is None:
        return None
    return int(best.value) if best.value == best.value.to_integral_value() else float(best.value)
