"""What is said before the request of a stage, in breaths: its caution, those of the plan, an apprentice's lesson. Pure.

Each caution of the plan is spoken once, to its end: one that somebody broke off, and those behind it that were never
begun, come again before the next request of the stage.
"""

from __future__ import annotations

from assistant.procedure.state import State
from assistant.speech.wording import Wording

BREATH = "\n"
"""Between what is said in one breath and what is said in the next."""


def breaths(*parts: str) -> str:
    """Each part in a breath of its own, and the first one not behind what was said before it."""
    said = [part for part in parts if part]
    return BREATH * (len(said) > 1) + BREATH.join(said)


def introduced(w: Wording, after: State) -> str:
    """Before the request of a stage: its caution to everybody; why, and what goes wrong, to an apprentice."""
    if after.item is None:
        return ""
    lesson = after.item.lesson
    caution = w.caution(lesson.caution) if lesson.caution else ""
    if not after.work.apprentice:
        return breaths(caution, *warnings(w, after))
    told_before = after.stage in after.asked_back  # the reason followed the answer
    why = lesson.why if not told_before else ""
    return breaths(caution, *warnings(w, after), why, w.explained("", lesson.goes_wrong) if lesson.goes_wrong else "")


def unsaid(w: Wording, before: State, after: State) -> str:
    """What was to be heard before this stage and did not sound to its end, because somebody spoke: it comes again."""
    if after.item is None:
        return ""
    lesson = after.item.lesson
    caution = w.caution(lesson.caution) if lesson.caution and lesson.caution in before.cut else ""
    return breaths(caution, *warnings(w, before))


def warnings(w: Wording, state: State) -> tuple[str, ...]:
    """Cautions of the plan before the stage that is due that nobody has heard yet, a breath each."""
    lesson = state.item.lesson if state.item is not None else None
    open_ones = [each for each in lesson.warned if each not in state.warned] if lesson is not None else []
    return (w.plan_warns(), *open_ones) if open_ones else ()
