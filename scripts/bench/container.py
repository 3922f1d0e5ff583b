"""The container's steps without a container engine: bare Debian roots, each RUN line as it stands, then the command.

    scripts/bench/container [FOLDER]      as root; needs debootstrap and a package index; about 1.5 GB in FOLDER

The steps are read from `scripts/Containerfile` itself. A root is debootstrap's smallest of the release that FROM names
(`minbase`, from which the slim images are cut). What is copied into it is the last commit of this checkout. apt and pip
are told there what they are told on this machine. At last the image's command, and `devices`, run as its user, without
a network. Exit status 1 where a step fails, the command does not end well, or `devices` misses more than sound
hardware.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
KNOWN = ("FROM", "RUN", "WORKDIR", "COPY", "ENV", "USER", "VOLUME", "ENTRYPOINT", "CMD")
ASKED = re.compile(r"PIP_|HTTPS?_PROXY|NO_PROXY|SSL_CERT", re.IGNORECASE)
"""Variables by which this machine's package clients find their index."""
USUAL_PATH = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
WITHOUT_SOUND = {"microphone", "loudspeaker"}


@dataclass(frozen=True)
class Step:
    """One instruction: its word in capitals, and the rest of its line with continued lines joined."""

    word: str
    rest: str


@dataclass
class Stage:
    """An image under way.

    Args:
        root: its files.
        environment: what ENV has set so far.
        place: the folder in it where the next step runs.
        user: who runs it.
    """

    root: Path
    environment: dict[str, str] = field(default_factory=dict)
    place: str = "/"
    user: str = "root"


def steps(text: str) -> list[Step]:
    """The instructions of a Containerfile, in order.

    Raises:
        ValueError: at an instruction that this script cannot carry out.
    """
    lines = "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("#"))
    found = []
    for line in re.sub(r"\\\n", " ", lines).splitlines():
        if not line.strip():
            continue
        word, _, rest = line.strip().partition(" ")
        if word not in KNOWN:
            raise ValueError(f"an instruction that is not known here: {word}")
        found.append(Step(word, re.sub(r"\s+#.*$", "", rest).strip()))
    return found


def release(image: str) -> str:
    """Debian's release in an image's name: `.../debian:bookworm-slim` is bookworm.

    Raises:
        ValueError: where it is not a slim Debian.
    """
    match = re.fullmatch(r"(?:[\w.]+/)*debian:([a-z]+)-slim", image)
    if match is None:
        raise ValueError(f"not a slim Debian: {image}")
    return match[1]


def variables(rest: str, known: Mapping[str, str]) -> dict[str, str]:
    """What an ENV line sets; `$NAME` stands for what was set before."""
    found = {}
    for word in shlex.split(rest):
        name, _, value = word.partition("=")
        found[name] = re.sub(r"\$(\w+)", lambda match: known.get(match[1], ""), value)
    return found


# ------------------------------------------------------------------------------------------------------------- roots
def bare(code: str, folder: Path) -> Path:
    """A bare root of this release, made once."""
    root = folder / code
    if (root / ".whole").exists():
        return root
    shutil.rmtree(root, ignore_errors=True)
    asked = ["apt-get", "indextargets", "--format", "$(REPO_URI)", f"Codename: {code}", "Component: main"]
    mirror = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.split()[0]
    told("debootstrap", ["debootstrap", "--variant=minbase", code, str(root), mirror])
    (root / ".whole").touch()
    return root


def connect(root: Path) -> None:
    """Let apt and pip find in there what they find on this machine. A package that was installed may have undone it."""
    apt = Path("/etc/apt")
    wanted = [*apt.glob("sources.list"), *apt.glob("sources.list.d/*.sources"), *apt.glob("sources.list.d/*.list")]
    wanted += [path for path in apt.glob("apt.conf.d/*") if "Acquire::" in path.read_text("utf-8", "replace")]
    wanted += [Path("/etc", name) for name in ("resolv.conf", "hosts", "pip.conf", "ssl/certs/ca-certificates.crt")]
    wanted += [Path(value) for name, value in os.environ.items() if ASKED.match(name) and value.startswith("/")]
    (root / "etc/apt/sources.list").unlink(missing_ok=True)  # debootstrap's own would name a source twice
    for path in wanted:
        if path.is_file():
            to = root / path.relative_to("/")
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, to)


def within(stage: Stage, command: Sequence[str], *, network: bool = True, index: bool = True) -> list[str]:
    """The command line that runs a command in a stage, with mounts and processes of its own that end with it.

    Args:
        stage: where.
        command: what.
        network: without, there is no address in there but a loopback that is down.
        index: whether it is told how this machine reaches its package index.
    """
    home = "/root" if stage.user == "root" else f"/home/{stage.user}"
    environment = {"PATH": USUAL_PATH, "HOME": home}
    environment |= {
        name: value for name, value in os.environ.items() if index and ASKED.match(name)
    } | stage.environment
    inner = ["/bin/sh", "-c", f"cd {shlex.quote(stage.place)} && exec {shlex.join(command)}"]
    alone = ["/usr/bin/env", "-i", *(f"{name}={value}" for name, value in environment.items()), *inner]
    entered = shlex.join(["chroot", f"--userspec={stage.user}", str(stage.root), *alone])
    root = shlex.quote(str(stage.root))
    mounts = f"mount -t proc proc {root}/proc && mount --rbind /dev {root}/dev && exec {entered}"
    apart = ["unshare", "--mount", "--pid", "--fork", "--kill-child", *([] if network else ["--net"])]
    return [*apart, "sh", "-c", mounts]


def told(what: str, command: Sequence[str]) -> subprocess.CompletedProcess[str]:
    """Run it, say how long it took and how long it said nothing; its output only where it fails.

    Raises:
        SystemExit: where it failed.
    """
    began, last, silent, said = time.monotonic(), time.monotonic(), 0.0, []
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace")
    assert process.stdout is not None
    for line in process.stdout:
        silent, last = max(silent, time.monotonic() - last), time.monotonic()
        said.append(line)
    status = process.wait()
    print(f"{time.monotonic() - began:6.1f} s, at most {silent:.0f} s without a word: {what}", flush=True)
    if status:
        print("".join(said[-40:]))
        raise SystemExit(f"failed with status {status}: {what}")
    return subprocess.CompletedProcess(command, status, "".join(said))


# ---------------------------------------------------------------------------------------------------------- carry out
def build(found: Sequence[Step], source: Path, folder: Path, roots: Path) -> tuple[Stage, list[str]]:
    """Carry out all steps: (the last stage, its command).

    Args:
        found: the steps.
        source: what COPY takes from.
        folder: where the stages come to lie.
        roots: where bare roots lie, or are made.
    """
    stages: dict[str, Stage] = {}
    stage, entry, command = Stage(Path()), [], []
    for number, step in enumerate(found):
        match step.word:
            case "FROM":
                image, *named = step.rest.split(" AS ")
                stage = Stage(folder / f"stage-{number}")
                told(f"a root like {image}", ["cp", "-a", str(bare(release(image), roots)), str(stage.root)])
                stages[named[0] if named else str(number)] = stage
            case "RUN":
                connect(stage.root)
                told(f"RUN {step.rest[:90]}", within(stage, ["/bin/sh", "-c", step.rest]))
            case "WORKDIR":
                stage.place = step.rest
                (stage.root / step.rest.lstrip("/")).mkdir(parents=True, exist_ok=True)
            case "COPY":
                _copy(step.rest, stages, stage, source)
            case "ENV":
                stage.environment |= variables(step.rest, {"PATH": USUAL_PATH} | stage.environment)
            case "USER":
                stage.user = step.rest
            case "ENTRYPOINT":
                entry = json.loads(step.rest)
            case "CMD":
                command = json.loads(step.rest)
            case _:
                assert step.word == "VOLUME", step  # a folder that is there already
    return stage, [*entry, *command]


def _copy(rest: str, stages: Mapping[str, Stage], stage: Stage, source: Path) -> None:
    *given, to = rest.split()
    base = source
    if given[0].startswith("--from="):
        base = stages[given.pop(0).removeprefix("--from=")].root
    target = stage.root / os.path.join(stage.place, to).lstrip("/")  # noqa: PTH118 - an absolute one takes its place
    for name in given:
        path = base / name.lstrip("/")
        if path.is_dir():
            shutil.copytree(path, target, symlinks=True, dirs_exist_ok=True)
        else:
            onto = target / path.name if to.endswith("/") or len(given) > 1 else target
            onto.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, onto)


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="container", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("folder", nargs="?", type=Path, metavar="FOLDER", help="where bare roots are kept for the next time")
    args = p.parse_args(arguments)
    if os.geteuid() != 0 or shutil.which("debootstrap") is None:
        p.error("this needs root and debootstrap (apt-get install debootstrap)")
    with tempfile.TemporaryDirectory(prefix="container-", dir=args.folder) as name:
        work = Path(name)
        source = work / "source"
        subprocess.run(["git", "clone", "-q", str(CHECKOUT), str(source)], check=True)
        found = steps((source / "scripts" / "Containerfile").read_text("utf-8"))
        stage, command = build(found, source, work, args.folder or work)
        measure = ["du", "-smx", "--exclude=var/cache", str(stage.root)]  # an image keeps no packages that were fetched
        size = subprocess.run(measure, capture_output=True, text=True, check=True)
        print(f"the root has {size.stdout.split()[0]} MB")
        done = told(
            f"{shlex.join(command)}, as {stage.user}, no network", within(stage, command, network=False, index=False)
        )
        print("".join(f"    {line}\n" for line in done.stdout.splitlines()[-12:]))
        return _without_sound(stage, command[0])


def _without_sound(stage: Stage, program: str) -> int:
    """`devices` in there: everything but sound hardware has to be there."""
    asked = within(stage, [program, "devices"], network=False, index=False)
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    print(done.stdout)
    missing = {line.split()[1] for line in done.stdout.splitlines() if line.startswith("MISSING")}
    good = done.returncode in (0, 3) and "there    record" in done.stdout and missing <= WITHOUT_SOUND
    print("good" if good else f"not good: devices ends with {done.returncode}; missing {', '.join(sorted(missing))}")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
