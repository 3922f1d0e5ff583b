"""Parts of the joint record about its basis: joint, bolt groups, tools, people, waits. Frozen models."""

from __future__ import annotations

from datetime import date, datetime

from assistant.replay.record_work import Part


class Tool(Part):
    """A wrench, multiplier or adapter, as its label says."""

    kind: str
    name: str
    serial: str = ""
    scale: str = ""
    """Unit, range and graduation; or ratio and factor; or lengths."""
    calibration_due: date | None = None
    valid_on_day: bool | None = None
    """Calibration valid on the last day of the session; None where nothing is known."""
    groups: tuple[str, ...] = ()
    """Bolt groups it is for."""


class Input(Part):
    """An input of a figure: symbol (may be empty), meaning, value with its unit, and source."""

    symbol: str
    meaning: str
    value: str
    source: str


class Calculated(Part):
    """A figure of the plan with its formula and inputs."""

    title: str
    formula: str
    terms: tuple[Input, ...]
    result: str
    source: str


class Group(Part):
    """A bolt group and the basis of its tightening, from the joint file and the plan."""

    name: str
    bolts: int
    thread: str
    grade: str
    nut: str = ""
    length: str
    condition: str
    """Thread condition and lubricant at assembly."""
    nut_factor: str = ""
    target: str
    """How the target is given, with the condition that it was published for."""
    window: str
    order: str
    """Order family."""
    sequence: tuple[int, ...]
    columns: int | None = None
    rows: int | None = None
    passes: tuple[str, ...]
    circular: str
    method: str = ""
    """How the bolts come to the target after the torque passes, where that is not by torque."""
    dwell: str = ""
    wrench: str
    multiplier: str = ""
    extension: str = ""
    tools_at_once: int = 1
    reasons: tuple[str, ...] = ()
    """The calculation behind the figures, line by line."""
    calculation: tuple[Calculated, ...] = ()
    """The same part by part; empty where the plan was made by a version that had it as lines only."""


class Joint(Part):
    """What was tightened, and by which instruction."""

    name: str
    tag: str = ""
    place: str = ""
    kind: str = ""
    flange: str = ""
    gasket: str = ""
    instruction: str = ""
    revision: str = ""
    instruction_note: str = ""


class Person(Part):
    """Somebody with a part in the joint, as the joint file names roles."""

    role: str
    name: str = ""
    task: str = ""


class Wait(Part):
    """A wait that the instruction asks for after tightening, where the work of the session did not hold it."""

    group: str
    wait: str
    from_utc: datetime | None
    over_utc: datetime | None
