"""The Containerfile as the script reads it that tries its steps; the steps themselves are tried outside CI."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scripts.bench.container import CHECKOUT, Step, release, steps, variables

FOUND = steps((CHECKOUT / "scripts" / "Containerfile").read_text("utf-8"))


def test_continued_lines_are_one_step_and_comments_are_none() -> None:
    text = "# FROM nothing\nFROM debian:bookworm-slim AS build\nRUN one \\\n && two   # why\n\nUSER worker\n"
    assert steps(text) == [
        Step("FROM", "debian:bookworm-slim AS build"),
        Step("RUN", "one   && two"),
        Step("USER", "worker"),
    ]


def test_an_instruction_that_cannot_be_carried_out_is_refused() -> None:
    with pytest.raises(ValueError, match="HEALTHCHECK"):
        steps("FROM debian:bookworm-slim\nHEALTHCHECK CMD true\n")


@pytest.mark.parametrize("image", ["alpine:3", "debian:bookworm", "docker.io/library/ubuntu:noble-slim"])
def test_only_slim_debian_has_a_bare_root(image: str) -> None:
    assert release("docker.io/library/debian:trixie-slim") == "trixie"
    with pytest.raises(ValueError, match="not a slim Debian"):
        release(image)


def test_a_variable_may_name_one_set_before() -> None:
    assert variables("PATH=/opt/bin:$PATH DATA=/data", {"PATH": "/bin"}) == {"PATH": "/opt/bin:/bin", "DATA": "/data"}


def test_all_that_is_copied_is_in_the_checkout_and_no_environment_of_the_machine_is() -> None:
    given = [
        name for step in FOUND if step.word == "COPY" and "--from" not in step.rest for name in step.rest.split()[:-1]
    ]
    assert given
    assert [name for name in given if not (CHECKOUT / name).exists()] == []
    assert "." not in given  # .venv and sessions lie there


def test_it_runs_as_a_user_of_its_own_and_keeps_sessions_in_a_volume() -> None:
    words = {step.word: step.rest for step in FOUND}
    assert words["USER"] != "root"
    set_here = variables(words["ENV"], {"PATH": "/bin"})
    assert Path(set_here["ASSISTANT_SESSIONS"]).is_relative_to(words["VOLUME"])
    assert [*json.loads(words["ENTRYPOINT"]), *json.loads(words["CMD"])] == ["assistant", "start"]
