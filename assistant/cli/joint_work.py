"""The work of a joint, laid out from its plan and its procedure file; loads no engine."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from assistant.bolting.planning.plan import Plan
from assistant.config.procedure_file import procedure_for
from assistant.events import WorkLaidOut
from assistant.procedure.work import lay_out


def work_at(
    laid_out: Plan,
    *,
    near: Path,
    apprentice: bool = False,
    language: str = "en",
    asks_who: bool = False,
    people: Sequence[str] = (),
) -> WorkLaidOut:
    """The work of a joint by its procedure.

    Args:
        near: folder of the joint file.
        asks_who: whether it is asked who tightens.
        people: names that are known besides those of the joint file.

    Raises:
        BadJointFile: its procedure is missing, broken, or not for this joint.
    """
    return lay_out(
        laid_out,
        procedure_for(laid_out.joint, near=near),
        apprentice=apprentice,
        language=language,
        asks_who=asks_who,
        people=people,
    )
