"""A joint that an apprentice practises on: the assistant plays it. Run by `assistant rehearse --apprentice`."""

from __future__ import annotations

import argparse
import contextlib
import json
from collections.abc import Sequence
from typing import Any

from assistant.bolting.planning.plan import plan
from assistant.cli import endings, house, opening
from assistant.cli.boards import shown_in
from assistant.cli.joint_work import work_at
from assistant.cli.later_clock import LaterClock
from assistant.cli.reminders import known_person, remember_missed, reminder, wrong_answers
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.learned import Learned
from assistant.config.settings import read_settings
from assistant.errors import BadSettings
from assistant.events import (
    Event,
    SessionOpened,
)
from assistant.procedure.state import State
from assistant.rehearsal.practice import SLIPS, Outcome, Practice
from assistant.replay.titles import figure
from assistant.report.wording import words_in
from assistant.speech.wording.practice import practice_words


def play_joint(args: argparse.Namespace) -> int:
    """Practise one joint.

    Returns:
        0 when the joint was closed and every slip was caught, 1 when not.
    """
    settings = house.unhurried(house.spoken_in(read_settings(), args.language))
    known = known_person(args.name) if args.name else None
    listen = opening.source(args.listen, ("mic", "typed", "wav"), "--listen")
    speak = opening.source(args.speak, ("voice", "silent", "wav"), "--speak")
    data = read_bytes(args.joint)
    laid_out = plan(parse_joint(data, source=str(args.joint)), today=args.date or house.today())
    work = work_at(laid_out, near=args.joint.parent, apprentice=True, language=settings.language)
    clock = LaterClock()
    practice = Practice(slips=_slips(args.slips), seed=args.seed, skip_time=clock.skip, language=settings.language)
    with contextlib.ExitStack() as undo:
        undo.enter_context(endings.in_order())
        sessions = args.sessions or house.sessions_folder(settings)
        parts = house.Parts(settings)
        undo.callback(parts.close)
        edges = parts.edges(listen, speak)
        opened = opening.open_session(sessions, data, laid_out, work, anew=True, clock=clock, played="practice")
        undo.callback(opened.recording.close)
        session = parts.session(
            recording=opened.recording,
            microphone=edges.microphone,
            speaker=edges.speaker,
            hearing=edges.hearing,
            watch=(lambda _entries: None) if args.json else shown_in(words_in(settings.language)),
            closing=lambda: opening.seal(opened.recording),
            real_time=edges.real_time,
            clock=clock,
            beside=lambda state, events: _reminded(practice, known, state, events),
        )
        with opening.leaving(session):
            state = session.run(opening.named(opened.first, listeners=edges.listeners, speaker=edges.speaker.name))
        session.leave("the practice ended")
        edges.speaker.say(practice.debrief(), 0)
        if known is not None:
            words = practice_words(settings.language)
            slips = [words.slip_named(name) for name in practice.outcome.missed]
            wrong = wrong_answers((entry.event for entry in opened.recording.entries), state)
            remember_missed(known, (*slips, *wrong), laid_out.joint.name)
    document = document_of(practice.outcome, complete=state.closed, session=str(opened.recording.folder))
    if args.json:
        print(json.dumps(document, indent=2))
    else:
        print("\n".join(["", practice.debrief(), *summary(document)]))
    return 0 if state.closed and not practice.outcome.missed else 1


def _reminded(practice: Practice, known: Learned | None, state: State, events: Sequence[Event]) -> str:
    """What the joint does; at the beginning also what was missed the last time."""
    said = practice.joint_says(state, events)
    if known is None or not any(isinstance(event, SessionOpened) for event in events):
        return said
    return f"{reminder(known.name, practice.language, apprentice=True)} {said}".strip()


def document_of(outcome: Outcome, *, complete: bool, session: str) -> dict[str, Any]:
    """The figures of a practice, for `--json`."""
    return {
        "complete": complete,
        "slipped_in": list(outcome.slipped_in),
        "caught": list(outcome.caught),
        "missed": list(outcome.missed),
        "misread": [{"wrench": figure(shown), "recorded": figure(said)} for shown, said in outcome.misread],
        "stops_for_nothing": outcome.stops,
        "session": session,
    }


def summary(document: dict[str, Any]) -> list[str]:
    """The figures for people."""
    named = {name: name.replace("-", " ") for name in SLIPS}
    lines = [f"{'complete' if document['complete'] else 'NOT COMPLETE'}; session: {document['session']}"]
    for key in ("caught", "missed"):
        lines += [f"{key}: {', '.join(named[name] for name in document[key])}"] * bool(document[key])
    lines += [f"the wrench read {each['wrench']}, recorded {each['recorded']}" for each in document["misread"]]
    return lines


def _slips(text: str) -> tuple[str, ...]:
    names = SLIPS if text == "all" else () if text == "none" else tuple(n.strip() for n in text.split(","))
    for name in names:
        if name not in SLIPS:
            raise BadSettings(f"--slips names {name!r}", remedy=f"any of {', '.join(SLIPS)}; or all, or none")
    return tuple(names)
