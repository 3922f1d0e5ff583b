"""`assistant completion`: scripts that complete commands, options and their choices in bash, zsh and fish."""

from __future__ import annotations

import argparse
from dataclasses import dataclass

from assistant.cli.main import COMMANDS, add_command

DESCRIPTION = "Print the completion script of a shell."
EPILOG = """\
examples:
  assistant completion bash > ~/.local/share/bash-completion/completions/assistant
  assistant completion zsh > ~/.zfunc/_assistant          where ~/.zfunc is in $fpath
  assistant completion fish > ~/.config/fish/completions/assistant.fish
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One option of a command.

    Args:
        name: with its dashes.
        meaning: its help.
        choices: what it takes, where that is a list.
        takes_value: something follows it.
    """

    name: str
    meaning: str
    choices: tuple[str, ...]
    takes_value: bool


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("shell", choices=sorted(_SHELLS), help="for which shell")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the script. Returns 0."""
    print(_SHELLS[args.shell](options()), end="")
    return 0


def options() -> dict[str, tuple[Option, ...]]:
    """The options of every command, as its own parser has them; where a command has commands, theirs as well."""
    return {name: tuple(_of(_parser(name))) for name in COMMANDS}


def _parser(name: str) -> argparse.ArgumentParser:
    return add_command(argparse.ArgumentParser(prog="assistant").add_subparsers(), name)


def _of(parser: argparse.ArgumentParser) -> list[Option]:
    found: dict[str, Option] = {}
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for word, below in action.choices.items():
                found.setdefault(word, Option(name=word, meaning="", choices=(), takes_value=False))
                found.update({each.name: each for each in _of(below) if each.name not in found})
        if action.help == argparse.SUPPRESS:
            continue
        choices = tuple(map(str, action.choices or ())) if not isinstance(action.choices, dict) else ()
        for name in action.option_strings:
            if name.startswith("--"):
                found[name] = Option(
                    name=name, meaning=action.help or "", choices=choices, takes_value=action.nargs != 0
                )
        if not action.option_strings and choices:
            found |= {word: Option(name=word, meaning="", choices=(), takes_value=False) for word in choices}
    return list(found.values())


def bash(commands: dict[str, tuple[Option, ...]]) -> str:
    """For bash 4 and newer; files complete as usual."""
    cases = "\n".join(
        f"    {name}) words={_quoted(' '.join(o.name for o in each))} ;;" for name, each in commands.items()
    )
    values = "\n".join(
        f"    {name}:{option.name}) words={_quoted(' '.join(option.choices))}; only=1 ;;"
        for name, each in commands.items()
        for option in each
        if option.choices
    )
    return f"""\
_assistant() {{
  local word=${{COMP_WORDS[COMP_CWORD]}} before=${{COMP_WORDS[COMP_CWORD-1]}} command=${{COMP_WORDS[1]}}
  local words="" only=""
  if [ "$COMP_CWORD" = 1 ]; then
    COMPREPLY=($(compgen -W {_quoted(" ".join(commands) + " --help --version")} -- "$word"))
    return
  fi
  case "$command" in
{cases}
  esac
  case "$command:$before" in
{values}
  esac
  COMPREPLY=($(compgen -W "$words" -- "$word"))
  [ -z "$only" ] && [[ $word != -* ]] && COMPREPLY+=($(compgen -f -- "$word"))
}}
complete -o filenames -F _assistant assistant
"""


def zsh(commands: dict[str, tuple[Option, ...]]) -> str:
    """For zsh, as a completion function in a file `_assistant`."""
    named = "\n".join(f"    {_quoted(f'{name}:{text}')}" for name, text in COMMANDS.items())
    cases = []
    for name, each in commands.items():
        dashed = [option for option in each if option.name.startswith("--")]
        words = " ".join(option.name for option in each if not option.name.startswith("--"))
        lines = [_quoted(_zsh_option(option)) for option in dashed]
        lines.append(_quoted(f"*:what:({words})") if words else "'*:file:_files'")
        cases.append(f"    {name}) _arguments {' '.join(lines)} ;;")
    return "\n".join(
        (
            "#compdef assistant",
            "local -a commands=(",
            named,
            ")",
            "if (( CURRENT == 2 )); then",
            "  _describe command commands",
            "else",
            "  local command=$words[2]",
            "  shift words; (( CURRENT-- ))",
            '  case "$command" in',
            *cases,
            "  esac",
            "fi",
            "",
        )
    )


def _zsh_option(option: Option) -> str:
    meaning = option.meaning.replace("[", "(").replace("]", ")").replace(":", " -").replace("%%", "%")
    value = f":value:({' '.join(option.choices)})" if option.choices else ":value:_files" if option.takes_value else ""
    return f"{option.name}[{meaning}]{value}"


def fish(commands: dict[str, tuple[Option, ...]]) -> str:
    """For fish 3 and newer."""
    lines = [
        f"complete -c assistant -n __fish_use_subcommand -f -a {name} -d {_quoted(text)}"
        for name, text in COMMANDS.items()
    ]
    for name, each in commands.items():
        where = f"complete -c assistant -n '__fish_seen_subcommand_from {name}'"
        for option in each:
            if not option.name.startswith("--"):
                lines.append(f"{where} -a {option.name}")
                continue
            value = (
                f" -x -a {_quoted(' '.join(option.choices))}" if option.choices else " -r" if option.takes_value else ""
            )
            lines.append(f"{where} -l {option.name[2:]}{value} -d {_quoted(option.meaning.replace('%%', '%'))}")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "'\\''") + "'"


_SHELLS = {"bash": bash, "zsh": zsh, "fish": fish}
