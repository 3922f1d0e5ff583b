"""Procedure files on disk: the usual one of each joint kind, shipped with the assistant, and a joint's own."""

from __future__ import annotations

import sys
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from assistant.bolting.joint_file.joint import Joint
from assistant.config.joint_file import read_bytes, schema_error
from assistant.errors import BadJointFile
from assistant.procedure.kinds import Procedure, extended

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

FOLDER = "procedures"


def kinds() -> tuple[str, ...]:
    """Names of the kinds that have a usual procedure, in alphabetical order."""
    folder = resources.files("assistant.config").joinpath(FOLDER)
    return tuple(sorted(file.name.removesuffix(".toml").replace("-", " ") for file in folder.iterdir()))


@cache
def usual_procedure(kind: str) -> Procedure:
    """The usual procedure of a joint kind.

    Raises:
        BadJointFile: no such kind.
    """
    if kind not in kinds():
        raise BadJointFile(f"no usual procedure for {kind!r}", remedy=f"one of {', '.join(kinds())}")
    file = resources.files("assistant.config").joinpath(FOLDER).joinpath(f"{kind.replace(' ', '-')}.toml")
    return parse_procedure(file.read_bytes(), source=file.name)


def procedure_for(joint: Joint, *, near: Path) -> Procedure:
    """The procedure of a joint: its own file where it names one, else the usual one of its kind.

    Args:
        near: folder of the joint file; its procedure file is looked for there.

    Raises:
        BadJointFile: the file is missing or broken, or contradicts the kind that it extends.
    """
    if joint.procedure is None:
        return usual_procedure(joint.kind)
    path = near / joint.procedure
    own = parse_procedure(read_bytes(path), source=path.name)
    if own.extends is None:
        return own
    try:
        return extended(usual_procedure(own.extends), own)
    except ValidationError as error:
        raise schema_error(error, Procedure, f"{path.name} on '{own.extends}'") from error


def parse_procedure(data: bytes, *, source: str) -> Procedure:
    """The procedure in the bytes of a procedure file.

    Raises:
        BadJointFile: not TOML, breaks the schema or contradicts itself; the message names file, field and step.
    """
    remedy = 'Write TOML: key = "text", [[steps]] for each step; each key once.'
    try:
        tables = tomllib.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadJointFile(f"{source}: not TOML: {error}", remedy=remedy) from error
    except (RecursionError, ValueError) as error:
        raise BadJointFile(
            f"{source}: nested too deep, or a number too long: {str(error)[:80]}", remedy=remedy
        ) from None
    try:
        return Procedure.model_validate(tables)
    except ValidationError as error:
        raise schema_error(error, Procedure, source) from error


def procedure_schema() -> dict[str, Any]:
    """The JSON schema of a procedure file (draft 2020-12), for editors."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Procedure.model_json_schema(),
        "title": "Procedure file",
    }
