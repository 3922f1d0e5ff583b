"""What a person, a file or a device did wrong: one tree, each leaf with its code, exit status and remedy.

What somebody *said* is never an exception; a refused reading is an event. Only `cli` catches `AssistantError`.
Exit statuses: 2 bad input, 3 a device or model is missing, 4 interrupted but safely stored.
"""

from __future__ import annotations

import re
from typing import ClassVar

LONGEST_WORD = 400
"""Letters without a space that a message shows whole: more than any name in use, less than a page of figures."""


class AssistantError(Exception):
    """Base of the tree; raise a leaf, never this class.

    Args:
        message: what is wrong: file, field, value; a value of thousands of figures is cut in its middle.
        remedy: what is allowed, or what to do next.
    """

    code: ClassVar[str]
    exit_status: ClassVar[int]

    def __init__(self, message: str, *, remedy: str) -> None:
        self.message = re.sub(rf"\S{{{LONGEST_WORD + 1},}}", _cut, message)
        super().__init__(self.message)
        self.remedy = remedy


def _cut(found: re.Match[str]) -> str:
    word = found[0]
    return f"{word[:100]} … ({len(word) - 140} letters more) … {word[-40:]}"


class BadInput(AssistantError):
    """A file, a field or an argument that cannot be worked with (exit 2); raise a leaf."""

    exit_status = 2


class Missing(AssistantError):
    """A device, model or package that the command needs is not there (exit 3); raise a leaf."""

    exit_status = 3


class Interrupted(AssistantError):
    """Work stopped, everything recorded so far is safe (exit 4); raise a leaf."""

    exit_status = 4


class BadQuantity(BadInput):
    """A number with a unit that is missing, unknown, of the wrong kind, or not a plain finite number."""

    code = "bad-quantity"


class BadJointFile(BadInput):
    """A joint file that is missing, not TOML, or breaks the schema."""

    code = "bad-joint-file"


class UnsafeJoint(BadInput):
    """A joint file whose figures would do harm: stress over yield, wrench out of its range, a tool out of date."""

    code = "unsafe-joint"


class BadBolting(BadInput):
    """An engineering input that has no meaning: unknown thread, class, condition, or a value out of its range."""

    code = "bad-bolting"


class BadAudio(BadInput):
    """An audio file that cannot be read as sound."""

    code = "bad-audio"


class BadSession(BadInput):
    """A session folder that is missing, foreign, or damaged beyond the last line."""

    code = "bad-session"


class BadSettings(BadInput):
    """A settings file or command-line option that is not understood."""

    code = "bad-settings"


class DeviceMissing(Missing):
    """A microphone, loudspeaker or system library is not there or does not open."""

    code = "device-missing"


class PackageMissing(Missing):
    """An optional package that this command needs is not installed."""

    code = "package-missing"


class ModelMissing(Missing):
    """Recogniser weights, a voice, or a part of them is missing or damaged."""

    code = "model-missing"


class RecordNotWritable(Interrupted):
    """The session folder does not take a write any more; guiding stopped, what was recorded is safe."""

    code = "record-not-writable"


class SpeakerFailed(Interrupted):
    """A prompt could not be spoken, twice; the session is stored and can be resumed."""

    code = "speaker-failed"


class CannotHear(Interrupted):
    """No listener works any more; the session is stored and can be resumed."""

    code = "cannot-hear"


class NotSent(Interrupted):
    """A session was not acknowledged by its receiver; everything is still here and can be sent again."""

    code = "not-sent"


class StoppedByHand(Interrupted):
    """The keyboard interrupted the session; it is stored and can be resumed."""

    code = "stopped-by-hand"
