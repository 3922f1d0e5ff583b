"""The house from outside: its top level, the purity of its core, its errors."""

from __future__ import annotations

import ast
import subprocess
from pathlib import Path

import pytest

from assistant import errors
from assistant.errors import AssistantError

ROOT = Path(__file__).resolve().parents[1]
CORE = ("errors.py", "events", "bolting", "speech", "procedure")


def core_modules() -> list[Path]:
    return [
        p
        for name in CORE
        for p in (
            [ROOT / "assistant" / name] if name.endswith(".py") else sorted((ROOT / "assistant" / name).rglob("*.py"))
        )
    ]


@pytest.mark.parametrize("path", core_modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_the_core_opens_no_file_and_reads_no_clock(path: Path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            assert name not in {
                "open",
                "read_text",
                "read_bytes",
                "write_text",
                "write_bytes",
                "now",
                "utcnow",
                "today",
                "input",
            }, ast.unparse(node)


def leaves() -> list[type[AssistantError]]:
    todo, found = [AssistantError], []
    while todo:
        each = todo.pop()
        todo += each.__subclasses__()
        if not each.__subclasses__():
            found.append(each)
    return found


def test_every_error_has_its_own_code_a_docstring_and_a_documented_exit_status():
    codes = [leaf.code for leaf in leaves()]
    assert len(codes) == len(set(codes)) >= 10
    listed = (ROOT / ".docs" / "using.md").read_text(encoding="utf-8")
    for leaf in leaves():
        assert leaf.__doc__ and leaf.exit_status in (2, 3, 4)
        assert f"| {leaf.exit_status} |" in listed
    assert errors.BadInput in AssistantError.__subclasses__()


@pytest.mark.parametrize("leaf", leaves(), ids=lambda leaf: leaf.code)
def test_every_error_is_provoked_by_a_test(leaf: type[AssistantError]):
    tests = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "tests").rglob("*.py") if p != Path(__file__))
    assert leaf.__name__ in tests


def test_the_top_level_holds_what_was_agreed_and_nothing_else():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "assistant",
        "models",
        "tests",
        "scripts",
        "demo_joints",
    }
    assert {name for name in top if not name.startswith(".")} <= agreed


def test_a_message_shows_a_value_of_thousands_of_figures_by_its_ends():
    told = errors.BadQuantity(f"length is {'9' * 5000} mm and {'a' * errors.LONGEST_WORD}", remedy="").message
    assert len(told) < 700 and "(4860 letters more)" in told and told.endswith("a" * errors.LONGEST_WORD)
