"""The steps that lift old records to today's versions: one function a version, each from the payload before it."""

from __future__ import annotations

from typing import Any

Payload = dict[str, Any]
_PARTS = ("question", "bolts", "wait", "measurement")


def work_laid_out_2(old: Payload) -> Payload:
    """Version 1 had questions before and after the passes; version 2 has stages in one list, with lessons."""
    stages = [
        *(_stage("question", _question(each)) for each in old["before"]),
        *(_stage("bolts", _pass(each)) for each in old["passes"]),
        *(_stage("question", _question(each)) for each in old["after"]),
    ]
    return {
        "joint": old["joint"],
        "stages": stages,
        "cautions": old["cautions"],
        "apprentice": False,
        "language": "en",
        "supervisor": "supervisor agrees",
    }


def prompt_spoken_2(old: Payload) -> Payload:
    """Version 1 did not look whether a prompt sounded whole, so nothing is claimed of it."""
    return old | {"whole": None, "times": 1}


def review_signed_2(old: Payload) -> Payload:
    """Version 1 was signed by name only."""
    return old | {"public_key": "", "signature": ""}


def reading_accepted_2(old: Payload) -> Payload:
    """Version 1 was accepted by the thresholds alone."""
    return old | {"inside": None, "lift": 1.0}


def _stage(part: str, value: Payload) -> Payload:
    return {name: value if name == part else None for name in _PARTS}


def _lesson(why: str) -> Payload:
    return {"caution": "", "why": why, "goes_wrong": "", "ask_back": None, "called": ""}


def _question(old: Payload) -> Payload:
    rest = {key: value for key, value in old.items() if key != "why"}
    return rest | {"witness": False, "lesson": _lesson(old["why"])}


def _pass(old: Payload) -> Payload:
    rest = {key: value for key, value in old.items() if key != "why"}
    phase = {"snug": "snug", "circular": "seat"}.get(old["kind"], "tighten")
    return rest | {"phase": phase, "tools": 1, "tap": "", "where": [], "lesson": _lesson(old["why"])}


def work_laid_out_3(old: Payload) -> Payload:
    """Version 2 asked for no reasons at hold points, named no train, knew no names and did not ask who tightens."""
    stages = [
        {
            **stage,
            "question": stage["question"] and stage["question"] | {"reason": False},
            "bolts": stage["bolts"] and stage["bolts"] | {"through": "", "scales": []},
        }
        for stage in old["stages"]
    ]
    return old | {"stages": stages, "people": [], "asks_who": False}


def work_laid_out_4(old: Payload) -> Payload:
    """Version 3 had torque passes only."""
    stages = [
        {**stage, "bolts": stage["bolts"] and stage["bolts"] | {"measures": "", "method": ""}}
        for stage in old["stages"]
    ]
    return old | {"stages": stages}


def work_laid_out_5(old: Payload) -> Payload:
    """Version 4 told cautions of the plan by their number alone, within the first pass's own caution."""
    stages = [
        {part: value and value | {"lesson": value["lesson"] | {"warned": []}} for part, value in stage.items()}
        for stage in old["stages"]
    ]
    return old | {"stages": stages}


def name_kept_2(old: Payload) -> Payload:
    """Version 1 read no name back."""
    return old | {"how": "as heard", "confirmed_by": ""}
