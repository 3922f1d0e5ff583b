"""Joint files on disk: read TOML, check it against the schema and the safety limits, list every error at once."""

from __future__ import annotations

import difflib
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_fields import Finding
from assistant.bolting.planning.limits import Examined, examine
from assistant.bolting.planning.plan import Plan, planned
from assistant.config.joint_template import EXAMPLE
from assistant.errors import AssistantError, BadJointFile, UnsafeJoint

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

MOST_BYTES = 1_000_000
_MOST_FINDINGS = 20
_OUR_WORDS = {
    "tuple_type": "not a list",
    "model_type": "not a table",
    "int_type": "not a whole number",
    "bool_type": "not true or false",
    "string_type": "not text",
    "literal_error": "not one of the words for it",
    "float_type": "not a number",
}
_NAMES_OF_TYPES = {
    "string": "text in quotes",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
}


def read_joint(path: Path, *, today: date) -> Joint:
    """The joint of a file, when its shape is right and its figures do no harm.

    Args:
        path: a TOML file.
        today: the day on which the tools are to be used; calibration is judged by it.

    Raises:
        BadJointFile: not there, not readable, not TOML, breaks the schema, contradicts itself.
        UnsafeJoint: figures that would do harm: stress over the limit, wrench out of range, calibration overdue, ...
    """
    return _examined(path, today).joint


def read_plan(path: Path, *, today: date) -> Plan:
    """The plan of a joint file; as `read_joint` otherwise."""
    return planned(_examined(path, today))


def _examined(path: Path, today: date) -> Examined:
    found = examine(parse_joint(read_bytes(path), source=path.name), today=today)
    if found.refusals:
        raise _error(UnsafeJoint, path.name, found.refusals)
    return found


def read_bytes(path: Path) -> bytes:
    """The file as it is.

    Raises:
        BadJointFile: missing, a folder, not readable, or far too large.
    """
    try:
        if path.is_dir():
            raise BadJointFile(f"{path} is a folder", remedy="Name a joint file, like demo_joints/NAME.toml.")
        if path.exists() and not path.is_file():
            raise BadJointFile(f"{path} is not a plain file", remedy="Name a joint file, like demo_joints/NAME.toml.")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise BadJointFile(f"{path} is not there", remedy="Check the name; joint files end in .toml.") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise BadJointFile(f"{path} cannot be read: {why}", remedy="Name a file that you may read.") from error
    if len(data) > MOST_BYTES:
        raise BadJointFile(f"{path} is larger than {MOST_BYTES} bytes", remedy="A joint file is a page of text.")
    return data


def parse_joint(data: bytes, *, source: str) -> Joint:
    """The joint in the bytes of a joint file; shape and contradictions only, no safety limits.

    Args:
        source: name of the file, for the messages.

    Raises:
        BadJointFile: not TOML, breaks the schema, contradicts itself.
    """
    try:
        tables = tomllib.loads(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        remedy = "Save the file as UTF-8 text."
        raise BadJointFile(f"{source}: byte {error.start + 1} is not UTF-8 text", remedy=remedy) from error
    except tomllib.TOMLDecodeError as error:
        raise _not_toml(data.decode("utf-8"), source, error) from error
    except RecursionError as error:
        raise BadJointFile(f"{source}: nested too deep", remedy="Tables go three levels deep at most.") from error
    except ValueError as error:  # a number of thousands of digits
        raise BadJointFile(f"{source}: {error}", remedy="Write figures as people read them.") from None
    try:
        return Joint.model_validate(tables).with_examples(_marked(data.decode("utf-8")))
    except ValidationError as error:
        raise schema_error(error, Joint, source) from error


_TABLE = re.compile(r"\s*\[+\s*([\w.]+)\s*\]+")
_MARKED = re.compile(rf"""\s*(\w+)\s*=\s*(?:"[^"]*"|'[^']*'|[^#"'])*\#.*\b{EXAMPLE}\b""")


def _marked(text: str) -> Iterator[str]:
    """Keys on lines that a template marked as examples, with their table. The plan names each until it is removed."""
    table = ""
    for line in text.splitlines():
        if (header := _TABLE.match(line)) is not None:
            table = f"{header[1]}."
        elif (key := _MARKED.match(line)) is not None:
            yield f"{table}{key[1]}"


_NO_TOML = 'Write TOML: key = "text", [table], [[table that repeats]]; each key once.'


def _not_toml(text: str, source: str, error: Exception) -> BadJointFile:
    """What is wrong with a text that is not TOML: the line, and the usual mistake where it looks like one."""
    at = re.search(r"line ([0-9]+)", str(error))
    if at is None:
        return BadJointFile(f"{source}: not TOML: {error}", remedy=_NO_TOML)
    number = int(at[1])
    lines = text.splitlines()
    line = lines[number - 1].strip() if number <= len(lines) else ""
    said = f"{source}: line {number}: {line}"
    before = line.split("#", 1)[0]
    if before.count('"') % 2 or (before.count("'") % 2 and '"' not in before):
        return BadJointFile(f"{said}\n  a closing quote is missing", remedy='Close it on the same line: key = "text"')
    value = before.partition("=")[2].strip()
    if value and re.match(r"[A-Za-z0-9+-]", value):
        return BadJointFile(
            f"{said}\n  text without quotes: {error}", remedy='Write text and quantities in quotes: "310 N*m"'
        )
    if "," in value and not value.startswith(("[", "{", '"', "'")):
        return BadJointFile(f"{said}\n  {error}", remedy="A point marks decimals, and text stands in quotes.")
    return BadJointFile(f"{said}\n  not TOML: {error}", remedy=_NO_TOML)


def joint_schema() -> dict[str, Any]:
    """The JSON schema of a joint file (draft 2020-12), for editors and for `assistant plan --schema`."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Joint.model_json_schema(),
        "title": "Joint file",
    }


def schema_error(error: ValidationError, model: type[BaseModel], source: str) -> AssistantError:
    """Everything in a file that breaks its schema, as one error; each finding has field, value and what is allowed.

    Args:
        model: that refused it.
        source: name of the file.
    """
    return _error(BadJointFile, source, _findings(error, model.model_json_schema()))


def _error(leaf: type[AssistantError], source: str, findings: Sequence[Finding]) -> AssistantError:
    """One error for all findings. A single one is given in full; of several, each has a line with what is allowed."""
    if len(findings) == 1:
        return leaf(f"{source}: {_line(findings[0])}", remedy=f"Allowed: {findings[0].allowed}")
    lines = [f"  {_line(each)}. Allowed: {each.allowed}" for each in findings]
    message = "\n".join([f"{source}: {len(findings)} values are not allowed", *lines])
    return leaf(message, remedy="Fix each line above; the governing instruction has the right values.")


def _line(finding: Finding) -> str:
    what = f"{finding.field} is {finding.value}" if finding.value else finding.field
    return ": ".join(part for part in (what, finding.why) if part)


def _findings(error: ValidationError, schema: dict[str, Any]) -> tuple[Finding, ...]:
    """Each error in our words, without those about a list that is too short only because its entries are wrong."""
    errors = error.errors()
    inner = {tuple(each["loc"])[:length] for each in errors for length in range(len(each["loc"]))}
    kept = [each for each in errors if each["type"] != "too_short" or tuple(each["loc"]) not in inner]
    found = tuple(finding for each in kept[:_MOST_FINDINGS] for finding in _translated(dict(each), schema))
    more = len(kept) - _MOST_FINDINGS
    return found if more <= 0 else (*found, Finding("", "", f"and {more} more like these", "mend these first"))


def _translated(error: dict[str, Any], schema: dict[str, Any]) -> Iterable[Finding]:
    """Pydantic's words for one error turned into ours."""
    place = tuple(error["loc"])
    field = _path(place)
    value = "" if isinstance(error["input"], dict | list) else repr(error["input"])
    for found in error.get("ctx", {}).get("findings", ()):
        inner = f"{field}.{found.field}".strip(".")
        yield Finding(inner, found.value if found.field else found.value or value, found.why, found.allowed)
    if error["type"] == "joint-file":
        return
    if error["type"] == "missing":
        yield Finding(field, "", "missing", _allowed(schema, place))
    elif error["type"] == "extra_forbidden":
        known = list(_below(schema, place[:-1]).get("properties", {}))
        near = difflib.get_close_matches(str(place[-1]), known, n=1)
        hint = f"did you mean {near[0]!r}? Keys here: " if near else "keys here: "
        yield Finding(field, value, "unknown key", hint + ", ".join(known))
    else:
        why = _OUR_WORDS.get(str(error["type"]), str(error["msg"]))
        yield Finding(field, value, why[:1].lower() + why[1:], _allowed(schema, place))


def _path(place: tuple[int | str, ...]) -> str:
    """Where an error is, lists counted from 1: groups[1].target."""
    text = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in place)
    return text.removeprefix(".")


def _below(schema: dict[str, Any], place: tuple[int | str, ...]) -> dict[str, Any]:
    """The part of the schema that describes a place of the file; empty when there is none."""
    part: dict[str, Any] = schema
    for step in (*place, None):
        options = part.get("anyOf", [part])
        part = next((option for option in options if option.get("type") != "null"), part)
        if "$ref" in part:
            part = schema["$defs"][str(part["$ref"]).rsplit("/", 1)[-1]]
        if step is None:
            return part
        part = part.get("items", {}) if isinstance(step, int) else part.get("properties", {}).get(step, {})
    return part


def _allowed(schema: dict[str, Any], place: tuple[int | str, ...]) -> str:
    """What the schema allows at a place, in words."""
    part = _below(schema, place)
    if part.get("type") == "array" and "properties" in _below(schema, (*place, 0)):
        return f"one table or more: {_example(schema, place)}"
    if "enum" in part:
        return "one of " + ", ".join(repr(option) for option in part["enum"])
    if "const" in part:
        return repr(part["const"])
    if "properties" in part:
        return f"a table: {_example(schema, place)}"
    words = [_NAMES_OF_TYPES.get(part.get("type", ""), "a list" if part.get("type") == "array" else "a value")]
    words += [f"{name} {part[key]:g}" for key, name in _LIMITS.items() if key in part]
    for least, most, what in (("minItems", "maxItems", "entries"), ("minLength", "maxLength", "characters")):
        if least in part:
            words.append(f"{part[least]} to {part[most]} {what}" if most in part else f"at least {part[least]} {what}")
    words += [f"like {part['examples'][0]!r}"] if "examples" in part else []
    words += ["as year-month-day"] if part.get("format") == "date" else []
    described = part.get("description", "")
    return ", ".join(words) + (f": {described}" if described else "")


_TEXTS = {
    "groups.name": "flange bolts",
    "wrenches.name": "wrench 1",
    "multipliers.name": "multiplier 1",
    "extensions.name": "adapter 1",
    "hold_points.name": "lock-out",
    "checks.name": "thread condition",
    "lowest": "40 N*m",
    "highest": "200 N*m",
    "graduation": "1 N*m",
    "phase": "prepare",
    "ask": "Isolated and locked out?",
    "phrase": "locked out and tried",
    "released_by": "lead",
    "role": "lead",
    "title": "North Sluice instruction",
    "revision": "A",
    "kind": "dial",
    "serial": "NS-1",
    "order": "cross",
    "condition": "lubricated",
    "grade": "8.8",
    "thread": "M20",
    "wrench": "wrench 1",
    "type": "spiral wound",
    "answer": "lubricated",
}


def _example(schema: dict[str, Any], place: tuple[int | str, ...]) -> str:
    """A table with all its required keys, as a joint file writes it."""
    listed = _below(schema, place).get("type") == "array"
    part = _below(schema, (*place, 0)) if listed else _below(schema, place)
    name = ".".join(str(step) for step in place if isinstance(step, str))
    keys = [f"{key} = {_sample(schema, (*place, *([0] if listed else []), key))}" for key in part.get("required", [])]
    free = [key for key in part["properties"] if key not in part.get("required", [])]
    more = f" (may also have: {', '.join(free)})" if free else ""
    return (
        f"{'[[' if listed else '['}{name}{']]' if listed else ']'} with {', '.join(keys) or 'some of its keys'}{more}"
    )


def _sample(schema: dict[str, Any], place: tuple[int | str, ...]) -> str:
    part = _below(schema, place)
    words = [str(step) for step in place if isinstance(step, str)]
    known = _TEXTS.get(".".join(words[-2:])) or _TEXTS.get(words[-1])
    if known is not None and "enum" not in part:
        return f'"{known}"'
    if "examples" in part:
        return f'"{part["examples"][0]}"'
    if "enum" in part:
        return f'"{part["enum"][0]}"'
    if part.get("format") == "date":
        return "2027-03-31"
    if "properties" in part:
        inner = [f"{key} = {_sample(schema, (*place, key))}" for key in part.get("required", [])]
        return "{ " + ", ".join(inner or ['preload = "90 kN"']) + " }"
    if part.get("type") == "array":
        return f"[{_sample(schema, (*place, 0))}]"
    plain = {"integer": "8", "number": "3.0", "boolean": "false"}
    return plain.get(part.get("type", ""), '"..."')


_LIMITS = {
    "minimum": "at least",
    "maximum": "at most",
    "exclusiveMinimum": "above",
    "exclusiveMaximum": "below",
}
