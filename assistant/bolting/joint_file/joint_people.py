"""Tables of the joint file about people: hold points, checks, re-checks, roles, wording."""

from __future__ import annotations

from typing import Literal

from pydantic import StrictBool, model_validator

from assistant.bolting.joint_file.joint_fields import Answer, HoldPhrase, Part, Temperature, Text, Time, refuse

Phase = Literal["prepare", "assemble", "snug", "tighten", "seat", "restore", "re-check", "leak watch", "close"]
"""Phases of the work in their order; in the phase that is named, the joint file's own questions come last."""


class InOtherWords(Part):
    """The same texts in another language; phrases that people say stay English."""

    called: Text | None = None
    """What the voice calls the step; its name in the record stays."""
    ask: Text | None = None
    why: Text | None = None
    goes_wrong: Text | None = None
    caution: Text | None = None
    tap: Text | None = None
    ask_back: Text | None = None
    because: Text | None = None


class OwnQuestionInOtherWords(Part):
    """The texts of a joint file's own question in another language."""

    called: Text | None = None
    """What the voice calls the question; its name in the record stays."""
    ask: Text | None = None
    why: Text | None = None


class HoldPoint(Part):
    """Work may not go on until the named person releases it by the agreed phrase."""

    name: Text
    phase: Phase
    ask: Text
    """The question that is asked."""
    phrase: HoldPhrase
    """Agreed phrase, at least three words; 'yes' alone passes no hold point."""
    released_by: Text
    """Role that may release it; one of `people`."""
    witness: StrictBool = False
    """Whether the name of whoever releases it is asked for and kept."""
    why: Text | None = None
    de: OwnQuestionInOtherWords | None = None
    """German texts; left out, the English ones are said."""


class Check(Part):
    """A question with one right answer; other named answers stop the work."""

    name: Text
    phase: Phase
    ask: Text
    answer: Answer
    """The answer that the plan rests on."""
    refused: tuple[Answer, ...] = ()
    """Answers that are understood and stop the work."""
    why: Text | None = None
    de: OwnQuestionInOtherWords | None = None
    """German texts; left out, the English ones are said."""

    @model_validator(mode="after")
    def _answers_differ(self) -> Check:
        if self.answer in self.refused:
            refuse("also among the refused answers", "different answers", field="answer", value=self.answer)
        return self


class Recheck(Part):
    """A later visit to the tightened joint, with its own conditions."""

    kind: Literal["cold", "hot"]
    earliest: Time
    """Counted from the end of tightening."""
    latest: Time | None = None
    lowest_temperature: Temperature | None = None
    highest_temperature: Temperature | None = None
    procedure: Text | None = None
    """Written procedure that allows it; a hot re-check needs one."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Recheck:
        if self.kind == "hot" and (self.procedure is None or self.highest_temperature is None):
            refuse(
                "procedure or highest_temperature is missing",
                "both: a hot joint is touched only by a written procedure",
                field="kind",
                value=self.kind,
            )
        if self.latest is not None and self.latest < self.earliest:
            refuse("before earliest", "a time after earliest", field="latest", value=self.latest)
        low, high = self.lowest_temperature, self.highest_temperature
        if low is not None and high is not None and low > high:
            refuse("above highest_temperature", "a range of temperatures", field="lowest_temperature", value=low)
        return self


class Release(Part):
    """A stop of the plan that the lead has settled beforehand."""

    stop: Text
    """The stop's name as `assistant plan` prints it, e.g. nut too weak."""
    by: Text
    """Who released it: a role or a name of `people`."""
    reason: Text
    """Why the work may go on; kept in the record."""


class Person(Part):
    """Somebody with a part in this joint."""

    role: Text
    """What hold points refer to, e.g. technician, lead."""
    name: Text | None = None
    task: Text | None = None


class Settings(Part):
    """How the assistant talks on this joint."""

    unit_words: Text | None = None
    """How the people say the unit; left out: the usual words."""
