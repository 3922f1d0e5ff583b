"""The child process that speaks one sentence into one new file: `python -m assistant.devices.voice_child`.

It loads eSpeak NG from the pip loader, reads one JSON line on stdin, answers with one JSON line on stdout and ends.
One process, one engine, one sentence, one file: pyttsx3 2.99 writes a later sentence into an earlier file, the
library keeps settings between engines, and it died of a 2 000-letter word (signal 11; all tried here).
A child that dies takes nothing along, and a fresh engine gives the same samples for the same request (400 of 400 at
eight at once; the two `espeak_Synchronize` before the sentence and the fixed seed are what it takes).

Request: `{"list": true}` or `{"text", "voice", "rate", "volume", "pitch", "path"}`.
Answer: `{"ok": true, "voice"}` or `{"ok": true, "voices"}` or `{"ok": false, "fault": "voice" | "engine", "message"}`.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
from pathlib import Path
from typing import Any, TextIO

_RATE, _VOLUME, _PITCH = (
    1,
    2,
    3,
)  # espeak_PARAMETER of the library's speak_lib.h; pyttsx3 reads defaults, not what holds


def load_engine_library() -> ctypes.CDLL:
    """Make the pip-only eSpeak NG known under the name that pyttsx3 asks for.

    The data path must be in the environment first: with a wrong one the library ends the process (tried).
    """
    import espeakng_loader

    os.environ["ESPEAK_DATA_PATH"] = str(espeakng_loader.get_data_path())
    return ctypes.CDLL(str(espeakng_loader.get_library_path()), ctypes.RTLD_GLOBAL)


def main() -> None:
    """Warm up, then serve exactly one request."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # the package chats on stdout ("Audio saved to ..."); the pipe must carry answers only
    sys.unraisablehook = lambda fault: _end(
        answers, _engine_fault(str(fault.exc_value))
    )  # e.g. disk full, in a callback
    try:
        library = load_engine_library()
        from pyttsx3.engine import Engine

        engine = Engine("espeak")
        library.espeak_Synchronize()  # its own first settings are still under way and would mix with ours
        library.espeak_ng_SetRandSeed(ctypes.c_long(1))  # else seeded with the time of day
    except Exception as error:  # whatever the packages raise is the answer to the one request
        fault: dict[str, Any] | None = _engine_fault(str(error))
        engine = library = None
    else:
        fault = None
    line = sys.stdin.readline()
    if not line:
        _end(answers, None)  # nobody needs us any more
    if fault is not None:
        _end(answers, fault)
    try:
        _end(answers, _serve(engine, library, json.loads(line)))
    except Exception as error:
        _end(answers, _engine_fault(f"{type(error).__name__}: {error}"))


def _serve(engine: Any, library: Any, request: dict[str, Any]) -> dict[str, Any]:
    if request.get("list"):
        return {"ok": True, "voices": sorted({str(voice.id) for voice in engine.getProperty("voices")})}
    faults: list[str] = []
    engine.connect("error", lambda exception=None, **_: faults.append(str(exception)))
    engine.proxy.setBusy(False)  # do what follows at once, not inside `runAndWait` ...
    engine.setProperty("voice", request["voice"])
    engine.setProperty("rate", int(request["rate"]))
    engine.setProperty("volume", float(request["volume"]))
    engine.setProperty("pitch", int(request["pitch"]))
    library.espeak_Synchronize()  # ... which cancels settings that are still under way (1 in 100 here)
    taken = [library.espeak_GetParameter(parameter, 1) for parameter in (_RATE, _VOLUME, _PITCH)]
    if taken != [request["rate"], int(round(request["volume"] * 100, 2)), request["pitch"]]:
        return _engine_fault(f"rate, volume in percent and pitch became {taken}")
    engine.save_to_file(request["text"], request["path"])
    engine.runAndWait()
    library.espeak_Synchronize()  # `runAndWait` does not wait for the engine's thread (source), which writes the file
    voice = str(engine.getProperty("voice"))
    if faults or not _same_voice(request["voice"], voice):  # an unknown voice is silently another one (tried here)
        Path(request["path"]).unlink(missing_ok=True)
        return {"ok": False, "fault": "voice", "message": f"asked for {request['voice']!r}, the engine took {voice!r}"}
    return {"ok": True, "voice": voice}


def _same_voice(asked: str, taken: str) -> bool:
    return taken.lower() == asked.lower() or taken.lower().endswith("/" + asked.lower())


def _engine_fault(message: str) -> dict[str, Any]:
    return {"ok": False, "fault": "engine", "message": message}


def _end(answers: TextIO, answer: dict[str, Any] | None) -> None:
    if answer is not None:
        answers.write(json.dumps(answer) + "\n")
        answers.flush()
    os._exit(0)  # the engine's own thread must not delay the end


if __name__ == "__main__":
    main()
