"""Build the documentation site from the repository, without a network: run by scripts/site.

The pages of `.docs`, README.md and DEVELOPERS.md are copied to a scratch folder, with their links turned to each other;
reference pages are made from the commands' own help, from the schemas and from the procedure files; Sphinx turns them
into HTML, every warning an error; afterwards every link and anchor of the HTML is looked up.
"""

from __future__ import annotations

import argparse
import html.parser
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from scripts.site_plots import plots

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / ".docs"
FROM_THE_TOP = {"README.md": "readme.md", "DEVELOPERS.md": "developers.md"}
TITLES = {"check-coverage.md": "Published figures, and which functions they check"}
"""Of pages that are made without one."""
_LINK = re.compile(r"(?P<image>!?)\[(?P<text>[^\]]*)\]\((?P<target>[^)\s]+)\)")


# ------------------------------------------------------------------------------------------------------------ copying
def copied(to: Path) -> None:
    """The written pages, with links that lead to each other; a link to a file that is no page becomes its text."""
    shutil.copytree(DOCS, to, dirs_exist_ok=True)
    for name, page in FROM_THE_TOP.items():
        (to / page).write_text((ROOT / name).read_text(encoding="utf-8"), encoding="utf-8")
    for page in to.rglob("*.md"):
        here = ROOT if page.name in FROM_THE_TOP.values() else DOCS / page.relative_to(to).parent
        text = page.read_text(encoding="utf-8")
        text = f"# {TITLES[page.name]}\n\n{text}" if page.name in TITLES else text
        page.write_text(_LINK.sub(lambda m: relinked(m, here, page.parent, to), text), encoding="utf-8")  # noqa: B023
    index = to / "index.md"
    text = index.read_text(encoding="utf-8")
    named = set(re.findall(r"^([\w/-]+)$", text, re.MULTILINE)) | {"index"}
    others = sorted(page.stem for page in to.glob("*.md") if page.stem not in named)
    index.write_text(text.rstrip().removesuffix("```") + "\n".join([*others, "```\n"]), encoding="utf-8")


def relinked(link: re.Match[str], here: Path, at: Path, to: Path) -> str:
    """One Markdown link for the site.

    Args:
        here: folder in the repository that the link is relative to.
        at: folder of the page on the site.
        to: the site's source folder.
    """
    target, _, anchor = link["target"].partition("#")
    if not target or "://" in target or target.startswith("mailto:"):
        return link[0]
    file = (here / unquote(target)).resolve()
    if file.parent == ROOT and file.name in FROM_THE_TOP:
        page = to / FROM_THE_TOP[file.name]
    elif DOCS in file.parents:
        page = to / file.relative_to(DOCS)
    else:
        return link["text"]
    place = os.path.relpath(page, at) + (f"#{anchor}" if anchor else "")
    return f"{link['image']}[{link['text']}]({place})"


# ---------------------------------------------------------------------------------------------------------- reference
def commands_page() -> str:
    """Every command as its own `--help` has it."""
    from assistant.cli.main import COMMANDS

    parts = ["# Commands", "Made by running each command with `--help`.", "```{run} assistant --help\n```"]
    for name in COMMANDS:
        parts += [f"## assistant {name}", f"```{{run}} assistant {name} --help\n```"]
    return "\n\n".join(parts) + "\n"


def schema_page(title: str, lead: str, schema: Mapping[str, Any]) -> str:
    """A JSON schema as tables: one for the file, one for each table in it."""
    parts = [f"# {title}", lead, *_table("The file itself", schema)]
    for name, part in sorted(schema.get("$defs", {}).items()):
        if "properties" in part:
            parts += _table(name, part)
        elif "enum" in part:
            parts += [f"## {name}", "One of " + ", ".join(f"`{each}`" for each in part["enum"]) + "."]
    return "\n\n".join(parts) + "\n"


def _table(name: str, part: Mapping[str, Any]) -> Iterator[str]:
    yield f"## {name}"
    if part.get("description"):
        yield _cell(part["description"])
    rows = ["| key | value | must | meaning |", "|---|---|---|---|"]
    needed = part.get("required", [])
    for key, value in part.get("properties", {}).items():
        rows.append(f"| `{key}` | {_kind(value)} | {'yes' if key in needed else ''} | {_cell(_meaning(value))} |")
    yield "\n".join(rows)


def _kind(value: Mapping[str, Any]) -> str:
    if "$ref" in value:
        name = value["$ref"].rsplit("/", 1)[-1]
        return f"[{name}](#{name.lower()})"
    if "anyOf" in value:
        return " or ".join(_kind(each) for each in value["anyOf"] if each.get("type") != "null")
    if "enum" in value:
        return ", ".join(f"`{each}`" for each in value["enum"])
    if "const" in value:
        return f"`{value['const']}`"
    if value.get("type") == "array":
        inner = value.get("items") or next(iter(value.get("prefixItems", [])), {})
        return f"list of {_kind(inner)}" if inner else "list"
    if value.get("examples"):
        return f"like `{value['examples'][0]}`"
    return str(value.get("format") or value.get("type") or "any")


def _meaning(value: Mapping[str, Any]) -> str:
    inner = [each.get("description", "") for each in value.get("anyOf", ())]
    return value.get("description") or next((text for text in inner if text), "")


def _cell(text: str) -> str:
    return " ".join(text.replace("``", "`").split()).replace("|", "\\|").replace("<", "&lt;")


def procedures_page() -> str:
    """The steps of every kind of joint, in order."""
    from assistant.config.procedure_file import kinds, usual_procedure

    parts = [
        "# Procedures of the joint kinds",
        "Made from the procedure files. A hold point is released by its phrase only. A joint file's own hold points "
        "and checks take the place of the step of their name, or come last in their phase.",
    ]
    for kind in kinds():
        procedure = usual_procedure(kind)
        rows = ["| phase | step | what | asked | answered by |", "|---|---|---|---|---|"]
        for step in procedure.steps:
            told = step.model_dump()
            answer = told.get("phrase") or told.get("answer") or ""
            words = (told["phase"], told["name"], told["does"], told.get("ask") or "", answer)
            rows.append("| " + " | ".join(_cell(str(word)) for word in words) + " |")
        parts += [f"## {procedure.title}", f'`kind = "{kind}"`', "\n".join(rows)]
    return "\n\n".join(parts) + "\n"


def settings_page() -> str:
    """Every setting with its default."""
    from assistant.cli.settings import template

    return (
        "# Settings\n\nMade by `assistant settings --template`. A setting is taken from the environment (`ASSISTANT_` "
        "and its name in capitals), else from the settings file, else it has its default. `assistant settings` shows "
        f"each with its origin.\n\n```toml\n{template()}```\n"
    )


def verdicts_page() -> str:
    """The tokens of a verdict, and exit codes."""
    from assistant.replay.verdict import COLOURS, HEADINGS

    rows = ["| token | said | colour |", "|---|---|---|"]
    rows += [f"| `{token}` | {HEADINGS[token]} | {COLOURS[token]} |" for token in HEADINGS]
    return (
        "# Verdicts and exit codes\n\nOne function over one reading of the session gives the verdict for `guide`, "
        "`replay`, the page, `record`, `compare` and exit codes.\n\n" + "\n".join(rows) + "\n\n" + EXIT_CODES
    )


EXIT_CODES = """\
| exit code | meaning |
|---|---|
| 0 | done |
| 1 | the answer is no: the joint is not complete, verification found something |
| 2 | bad input: joint file, sound file, session folder, settings, option |
| 3 | a device, model or package is missing |
| 4 | interrupted, but safely stored |
"""


def generated(to: Path) -> None:
    """Write the reference pages and the plots."""
    from assistant.config.joint_file import joint_schema
    from assistant.config.procedure_file import procedure_schema
    from assistant.replay.record_fields import record_schema

    pages = {
        "reference/commands.md": commands_page(),
        "reference/joint-file.md": schema_page(
            "Keys of a joint file", "Made from `assistant plan --schema`. Unknown keys are errors.", joint_schema()
        ),
        "reference/procedure-file.md": schema_page(
            "Keys of a procedure file", "Made from `assistant plan --procedure-schema`.", procedure_schema()
        ),
        "reference/record.md": schema_page(
            "Fields of a joint record", "Made from `assistant record --schema`.", record_schema()
        ),
        "reference/settings.md": settings_page(),
        "reference/verdicts.md": verdicts_page(),
        "procedures.md": procedures_page(),
    } | {f"plots/{name}": text for name, text in plots().items()}
    for name, text in pages.items():
        (to / name).parent.mkdir(exist_ok=True)
        (to / name).write_text(text, encoding="utf-8")


# ---------------------------------------------------------------------------------------------------------- checking
class _Links(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.anchors: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        """Collect what leads somewhere and what can be led to."""
        given = dict(attrs)
        self.links += [given[name] or "" for name in ("href", "src") if name in given]
        self.anchors |= {given[name] or "" for name in ("id", "name") if name in given}


def broken(site: Path) -> Iterable[str]:
    """Each link of the site that leads to no file or no anchor, or to the outside, where nobody checks it."""
    read: dict[Path, _Links] = {}
    for page in site.rglob("*.html"):
        read[page] = _Links()
        read[page].feed(page.read_text(encoding="utf-8"))
    for page, found in read.items():
        for link in found.links:
            parts = urlsplit(link)
            if parts.scheme or parts.netloc:
                yield f"{page.relative_to(site)}: {link} leads outside"
                continue
            file = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            if not file.exists():
                yield f"{page.relative_to(site)}: {link}: no such file"
            elif parts.fragment and file in read and unquote(parts.fragment) not in read[file].anchors:
                yield f"{page.relative_to(site)}: {link}: no such anchor"


def main() -> int:
    from sphinx.cmd.build import build_main

    began = time.monotonic()
    p = argparse.ArgumentParser(
        prog="scripts/site", description="Build the documentation as a site, and check its links."
    )
    p.add_argument("site", metavar="FOLDER", type=Path, help="made anew; one that holds anything else is refused")
    site = p.parse_args().site.resolve()
    if site.exists() and not (site / "objects.inv").is_file() and any(site.iterdir()):
        p.error(f"{site} holds something else than a site: it would be deleted; name a new or empty folder")
    with tempfile.TemporaryDirectory() as name:
        source = Path(name) / "source"
        copied(source)
        generated(source)
        shutil.rmtree(site, ignore_errors=True)
        status = build_main(["-q", "-W", "--keep-going", "-b", "html", "-d", f"{name}/kept", str(source), str(site)])
    if status:
        return status
    wrong = sorted(set(broken(site)))
    for line in wrong:
        print(line, file=sys.stderr)
    pages = len(list(site.rglob("*.html")))
    print(f"{pages} pages in {site}, {time.monotonic() - began:.0f} s, {len(wrong)} broken links", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
