"""A Sphinx directive whose output is made by running a command in the build, so that no page shows what is not so.

    ```{run} assistant plan demo_joints/north-sluice-dn150-flange.toml
    :rows: 12
    ```

Text in the directive is typed to the command, and then the lines of the file that `from` names. `status` is the exit
code that is expected (0): another one stops the build. `rows` shows the first lines, `last` the last ones, `hide` shows
nothing. Each page has a folder of its own, with the demo joints in it; its commands run in the order in which they
stand, in this process, without sound.
"""

from __future__ import annotations

import contextlib
import glob
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from pathlib import Path

from docutils import nodes
from docutils.parsers.rst import Directive, directives
from sphinx.application import Sphinx

ROOT = Path(__file__).resolve().parent.parent
SCRATCH = Path(tempfile.mkdtemp(prefix="site-"))


class Run(Directive):
    """Runs one command of the assistant and shows it with its output."""

    required_arguments = 1
    final_argument_whitespace = True
    has_content = True
    option_spec = {  # noqa: RUF012
        "rows": directives.nonnegative_int,
        "last": directives.nonnegative_int,
        "status": directives.nonnegative_int,
        "hide": directives.flag,
        "from": directives.unchanged,
    }

    def run(self) -> list[nodes.Node]:
        """The block with the command and what it printed."""
        command = " ".join(self.arguments[0].split())
        folder = folder_of(self.state.document.settings.env.docname)
        typed = "\n".join(self.content)
        if "from" in self.options:
            said = (ROOT / self.options["from"]).read_text(encoding="utf-8").splitlines()
            typed = "\n".join([*self.content, *(line for line in said if line[:1] != "#")])
        status, output = ran(command, folder, typed)
        if status != self.options.get("status", 0):
            raise self.error(f"`{command}` ended with {status}:\n{output[-2000:]}")
        if "hide" in self.options:
            return []
        lines = [re.sub(r"\s+$", "", line) for line in output.splitlines()]
        if "rows" in self.options:
            most = self.options["rows"]
            lines = lines[:most] + ["..."] * (len(lines) > most)
        if "last" in self.options:
            most = self.options["last"]
            lines = ["..."] * (len(lines) > most) + lines[-most:]
        block = nodes.literal_block("", "\n".join([f"$ {command}", *lines]))
        block["language"] = "none"
        return [block]


def folder_of(page: str) -> Path:
    """Where the commands of a page run."""
    folder = SCRATCH / page.replace("/", "-")
    if not folder.exists():
        folder.mkdir()
        (folder / "demo_joints").symlink_to(ROOT / "demo_joints")
    return folder


def ran(command: str, folder: Path, typed: str) -> tuple[int, str]:
    """Exit code and output (both streams, as on a terminal) of `assistant ...`, run in `folder`.

    Args:
        typed: standard input.
    """
    from assistant.cli.main import main

    words = shlex.split(command)
    if words[:1] != ["assistant"]:
        raise ValueError(f"not a command of the assistant: {command}")
    before = Path.cwd(), sys.stdin
    output = io.StringIO()
    try:
        os.chdir(folder)
        given = [found for word in words[1:] for found in (sorted(glob.glob(word)) or [word])]  # noqa: PTH207
        sys.stdin = io.StringIO(typed + "\n" if typed else "")
        with contextlib.redirect_stdout(output), contextlib.redirect_stderr(output):
            try:
                status = main(given)
            except SystemExit as ended:
                status = int(ended.code or 0)
    finally:
        os.chdir(before[0])
        sys.stdin = before[1]
    text = output.getvalue().replace(str(folder), ".").replace(str(ROOT) + "/", "").replace(str(SCRATCH), "~")
    return status, text


def setup(app: Sphinx) -> dict[str, object]:
    """Called by Sphinx: no page depends on whose machine this is, and nothing of it is touched."""
    for name in [name for name in os.environ if name.startswith("ASSISTANT_")]:
        del os.environ[name]
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        os.environ[name] = str(SCRATCH / name.lower())
    os.environ.update(COLUMNS="96", NO_COLOR="1", TERM="dumb", HOME=str(SCRATCH))
    app.add_directive("run", Run)
    app.connect("build-finished", lambda *_: shutil.rmtree(SCRATCH, ignore_errors=True))
    return {"version": "1", "parallel_read_safe": False}
