"""What a C library prints by itself is not seen; what Python prints is, and everything is as before afterwards."""

from __future__ import annotations

import subprocess
import sys

PROGRAM = """
import os, sys
from assistant.cli.terminal import our_own
with our_own():
    os.write(2, b"Expression 'ret' failed in 'pa_linux_alsa.c'\\n")
    print("Set aside: 3 bytes", file=sys.stderr)
os.write(2, b"library again\\n")
print("and we", file=sys.stderr)
"""


def test_only_our_own_lines_are_seen():
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines() == ["Set aside: 3 bytes", "library again", "and we"]


def test_without_any_error_output_it_does_nothing():
    program = "import os\nos.close(2)\nfrom assistant.cli.terminal import our_own\nwith our_own():\n    print('there')"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "there\n"
