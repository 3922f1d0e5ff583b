"""What is understood in a recording: the same endpointer and listeners as at the joint, without a procedure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from assistant.events import SAMPLE_RATE_HZ, Alternative, Pass
from assistant.ports import Activity, Samples
from assistant.procedure.acceptance import in_context, judge
from assistant.session.ahead import ReadAhead
from assistant.session.hearing import Hearing, alternative, with_note_text
from assistant.speech.endpoint import Endpointer, EndpointEvent
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.quality import measure
from assistant.speech.utterance import SpeechEnded, SpeechPaused, SpeechResumed, Utterance

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
    reading = ReadAhead(hearing, endpointer, lambda: grammar)
    found: list[Understood] = []
    for at_sample, event in _events(endpointer, reading, samples):
        if isinstance(event, SpeechPaused):
            reading.paused(event.utterance, now=at_sample)
        elif isinstance(event, SpeechResumed):
            reading.resumed()
        elif isinstance(event, SpeechEnded):
            heard = reading.ended(event.utterance, now=at_sample).listened.heard
            found.append(_read(event.utterance, heard, hearing))
    quality = measure(samples)
    if not found and not quality.silent and quality.seconds <= TAKE_WHOLE_S:
        heard = hearing.listen(samples, grammar).heard
        found.append(Understood(start_sample=0, end_sample=len(samples), whole=True, heard=heard))
    return found


def _events(endpointer: Endpointer, reading: ReadAhead, samples: Samples) -> Iterator[tuple[int, EndpointEvent]]:
    for start in range(0, len(samples), STEP):
        piece = samples[start : start + STEP]
        yield from ((start + len(piece), event) for event in endpointer.feed(piece))
        reading.follow()
    yield from ((len(samples), event) for event in endpointer.finish())


def _read(utterance: Utterance, heard: Heard, hearing: Hearing) -> Understood:
    if heard.ranked and heard.decision != "reject" and alternative(heard.ranked[0]).kind == "note":
        heard = with_note_text(heard, hearing.transcribe(utterance.samples))
    return Understood(
        start_sample=utterance.speech_start, end_sample=utterance.speech_end, whole=utterance.believable, heard=heard
    )


def document(file: str, samples: Samples, understood: list[Understood], *, due: Pass | None = None) -> dict[str, Any]:
    """One object of the list that `hear --json` prints.

    Args:
        due: a pass with a window: each utterance says what a bolt of it would make of it.
    """
    return {
        "file": file,
        "seconds": round(len(samples) / SAMPLE_RATE_HZ, 3),
        "utterances": [_utterance(u, due) for u in understood],
    }


def _utterance(understood: Understood, due: Pass | None) -> dict[str, Any]:
    heard = understood.heard
    alternatives = [alternative(r) for r in heard.ranked]
    decision = "ask" if heard.decision == "accept" and not understood.whole else heard.decision
    best = alternatives[0] if alternatives and decision != "reject" else None
    told = {
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
    if due is not None:
        asked_anyway = heard.accept_at >= 1 or not understood.whole
        told["context"] = _context(best, alternatives, decision, due, may_lift=not asked_anyway)
    return told


def _context(
    best: Alternative | None, alternatives: list[Alternative], decision: str, due: Pass, *, may_lift: bool
) -> dict[str, Any]:
    """The rule of `acceptance` for a bolt of this pass."""
    named = best.bolt if best is not None else None
    weighed = in_context(alternatives, due=due, bolt=None, named=named)
    lifted = may_lift and weighed.taken and decision == "ask"
    verdict = "reject"
    if best is not None and best.value is not None:
        verdict = judge(best, "accept" if lifted else decision, due=due, last_setting=None).kind
    return {
        "p": round(weighed.p, 6),
        "inside": round(weighed.inside, 6),
        "lift": weighed.lift if may_lift else 1.0,
        "decision": verdict,
    }


def _kind(best: Alternative | None) -> str:
    if best is None:
        return "none"
    return "bolt" if best.kind == "command" and best.bolt is not None else best.kind


def _number(best: Alternative | None) -> int | float | None:
    if best is None or best.value is None:
        return None
    return int(best.value) if best.value == best.value.to_integral_value() else float(best.value)
