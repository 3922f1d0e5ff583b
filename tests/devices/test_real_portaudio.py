"""The real sound library, where it is installed, with ALSA's own null and file devices in place of hardware."""

from __future__ import annotations

import ctypes.util
import json
import os
import subprocess
import sys
import textwrap
from pathlib import Path

import numpy as np
import pytest

ALSA = Path("/usr/share/alsa/alsa.conf")
pytestmark = pytest.mark.skipif(
    ctypes.util.find_library("portaudio") is None or not ALSA.exists(), reason="PortAudio or ALSA is not installed here"
)

PROGRAM = """
import itertools, json, sys
from pathlib import Path
from assistant.devices.live_microphone import SoundDeviceMicrophone
from assistant.devices.loudspeaker import LoudSpeaker
from assistant.devices.portaudio import PortAudio
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer

audio = PortAudio()
prompts = PromptCache(Pyttsx3Renderer(), Path(sys.argv[1]) / "cache")
blocks = itertools.count()  # the null device takes sound as fast as it comes: here each block lasts its 20 ms
now = lambda: 0.02 * next(blocks)
speaker = LoudSpeaker(prompts, clock=lambda: 0, device="speakerfile", audio=audio, now=now)
spoken = speaker.say("Bolt five.", 100)
speaker.close()
microphone = SoundDeviceMicrophone(device="nullmic", audio=audio)
blocks = [microphone.read() for _ in range(5)]
microphone.close()
print(json.dumps({
    "spoken": [spoken.start_sample, spoken.end_sample],
    "whole": [spoken.whole, spoken.times],
    "rate": speaker.device.rate_hz,
    "prompt": str(prompts.path_of("Bolt five.")),
    "blocks": [[block.at_sample, len(block.samples)] for block in blocks],
    "after": microphone.read(),
}))
"""


def test_a_prompt_leaves_through_it_whole_and_blocks_come_in(tmp_path):
    (tmp_path / "alsa.conf").write_text(
        textwrap.dedent(f"""
        <{ALSA}>
        pcm.nullmic {{ type null hint {{ show on description "no microphone" }} }}
        pcm.speakerfile {{
          type plug
          slave.pcm {{ type file file "{tmp_path}/heard.raw" format "raw" slave.pcm {{ type null }} }}
          hint {{ show on description "a file for a loudspeaker" }}
        }}
        """)
    )
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(tmp_path)],
        env={
            **os.environ,
            "ALSA_CONFIG_PATH": str(tmp_path / "alsa.conf"),
            "PYTHONPATH": str(Path(__file__).parents[2]),
        },
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout.splitlines()[-1])
    heard = np.fromfile(tmp_path / "heard.raw", dtype="<i2")
    loud = np.flatnonzero(np.abs(heard.astype(int)) > 20)
    prompt = np.frombuffer(Path(told["prompt"]).read_bytes()[44:], dtype="<i2")
    said = np.flatnonzero(np.abs(prompt.astype(int)) > 20)
    assert (loud[-1] - loud[0]) / told["rate"] == pytest.approx((said[-1] - said[0]) / 22_050, abs=0.01)
    assert told["whole"] == [True, 1]
    start, end = told["spoken"]
    assert start >= 100 and (end - start) / 16_000 == pytest.approx(len(prompt) / 22_050, abs=0.01)
    ends = [at + count for at, count in told["blocks"]]
    assert [at for at, _ in told["blocks"]] == [0, *ends[:-1]] and told["after"] is None
