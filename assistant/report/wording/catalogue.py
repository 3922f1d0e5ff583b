"""Sentences of pages and records in another language, looked up by the English sentence.

The code makes every sentence once, in English; at the edge, just before it is shown, it is looked up here. So there is
one fold, one verdict and one record, and the English text cannot change with a translation. A sentence that is not in
the table stays English: it is never guessed at. What people said, names, tags and file paths are never looked up: the
templates' fields keep them, blocks name their columns, pages mark them with `translate="no"` (the HTML Standard).

Fields of a template, numbered from 0: `{0}` stands as it is, `{0:g}` too (a name: no quotes, no semicolon), `{0:u}` is
a time in UTC, `{0:f}` a file, `{0:k}` the letters of a cell; `{0:n}` is figures, with or without a unit, and gets the
decimal sign of the language, as does `{0:d}`, anything with figures in it; `{0:t}` is looked up itself; `{0:s}` is a
step of a procedure. A field within quotes ends where the quotes end.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from html import escape, unescape

from assistant.report.record_blocks import Block

_FIELD = re.compile(r"\{(\d)(?::([nutgfskd]))?\}")
_UNIT = r"(?:[ \xa0](?:deg ?[CF]|lbf[·*](?:ft|in)|kgf[·*]m|N[·*]m|N/mm²|kN/mm|[mi][mn]2|kips?|[a-zA-Z%°µ²³]{1,3}))"
_NUMBER = r"[-+−]?\d[\d.]*(?:e[-+]?\d+)?"
_PATTERNS = {
    "": "(.*?)",
    "t": "(.+?)",
    "d": "(.+?)",
    "g": "([^;:“”]+?)",
    "s": "(.+?)",
    "k": "([kcas]+)",
    "f": r"([\w/-]+\.\w+)",
    "u": r"(\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d)?\S*)?)",
    "n": rf"({_NUMBER}{_UNIT}?(?:(?:, | x ){_NUMBER}{_UNIT}?| \d\d min)*)",
}
_DECIMAL = re.compile(r"(?<![\d.])(\d+)\.(\d+)(?![\d.])")
_FIGURE = re.compile(_NUMBER + _UNIT + "?")
_MARK = re.compile(r"<(script|style)\b.*?</\1>|<(/?)([a-zA-Z][\w-]*)([^>]*)>|<![^>]*>|[^<]+", re.DOTALL)
_LABEL = re.compile(r'( (?:aria-label|content)=)(["\'])(.*?)\2', re.DOTALL)
_VOID = frozenset({"meta", "br", "input", "link", "img", "hr"})
_OWN_FACTS = frozenset({"Tag", "Place", "Instruction", "It says", "People", "Flange", "Nuts", "Session", "Follows up"})
_OWN_FACTS |= {"Joint file", "Plan", "Recorded by", "Record made by", "Made with"}
_OWN_FACTS |= {"Voice"}
_OWN_COLUMNS = frozenset(
    {"Recording", "Tool", "Serial", "For", "By", "Words", "Lines", "Name, as heard", "By, as heard"}
)
_OWN_COLUMNS |= {"Group", "When (UTC)", "From (UTC)", "To (UTC)", "Why, in own words", "Date", "Signature"}
_HOLDS = "Hold points and checks"
_OWN_CELLS = {("Notes", "What"), (_HOLDS, "Asked"), (_HOLDS, "Refused before")}
"""Columns that hold people's own words in one table and ours in others."""


@dataclass(frozen=True, slots=True)
class _Row:
    pattern: re.Pattern[str]
    kinds: tuple[str, ...]
    longest: str
    """Its longest piece without a field: what does not hold it cannot match."""
    weight: int
    """Letters outside of its fields: of two templates that match, the one that says more is meant."""
    text: str


class Words:
    """The table of one language.

    Args:
        language: of the texts that come out, as in HTML's `lang`.
        table: English template -> template in the language; empty says everything as it is.
        steps: names of the usual procedures' steps; apart, for some are words of the table too (the step "bolts").
        scripts: as the table, for the exact texts of a page's scripts.
        unknown: told each sentence that is not in the table; tests listen here.
    """

    def __init__(
        self,
        language: str,
        table: Mapping[str, str],
        *,
        steps: Mapping[str, str] | None = None,
        scripts: Mapping[str, str] | None = None,
        unknown: Callable[[str], None] | None = None,
    ) -> None:
        self.language = language
        self.scripts = dict(scripts or {})
        self._steps = dict(steps or {})
        bare = {english.removesuffix("."): text.removesuffix(".") for english, text in table.items()}
        self._exact = {english: text for english, text in bare.items() if not _FIELD.search(english)}
        rows = (each for each in bare.items() if _FIELD.search(each[0]))
        self._rows = sorted((_row(*each) for each in rows), key=lambda row: -row.weight)
        self._unknown = unknown
        self._found: dict[str, str] = {}

    def say(self, text: str) -> str:
        """The text in the language; as it is where the table does not hold it."""
        if self.language == "en" or not text:
            return text
        if text not in self._found:
            self._found[text] = self._say(text)
        return self._found[text]

    def _say(self, text: str) -> str:
        bare = text.strip()
        if not any(sign.isalpha() for sign in bare) or _FIGURE.fullmatch(bare):
            return text.replace(bare, self.figure(bare)) if _FIGURE.fullmatch(bare) else text
        found = self._whole(bare)
        if found is None:
            found = self._in_parts(bare)
        if found is None:
            if self._unknown is not None:
                self._unknown(bare)
            return text
        return text.replace(bare, found)

    def _whole(self, text: str) -> str | None:
        """The sentence as the table has it, also where it begins with a capital or ends with a full stop."""
        bare = text.removesuffix(".")
        for known in (bare, bare[:1].lower() + bare[1:]):
            found = (self._look_up(known) or self._steps.get(known)) if known else None
            if found is not None:
                found = found[0].upper() + found[1:] if text[0].isupper() else found
                return found + text[len(bare) :]
        return None

    def _look_up(self, text: str) -> str | None:
        if text in self._exact:
            return self._exact[text]
        for row in self._rows:
            if row.longest in text and (match := row.pattern.fullmatch(text)) is not None:
                parts = zip(row.kinds, match.groups(), strict=True)
                return row.text.format(*(self._field(kind, part) for kind, part in parts))
        return None

    def _field(self, kind: str, part: str) -> str:
        if kind == "s":
            return self._steps.get(part) or self._steps.get(part[:1].lower() + part[1:]) or self.say(part)
        return self.say(part) if kind == "t" else self.figure(part) if kind in ("n", "d") else part

    def _in_parts(self, text: str) -> str | None:
        """A text that the code has joined: lines, then what stands between semicolons, dots, commas, outside quotes."""
        for joint in ("\n", " · ", "; ", ". ", ", "):
            parts = re.split(re.escape(joint) + "(?![^“]*”)", text)
            if len(parts) > 1 and all(part.strip() for part in parts):
                known = [self._whole(part.strip()) or (_FIGURE.fullmatch(part) and self.figure(part)) for part in parts]
                if joint in ("\n", " · ", "; ") or all(known):
                    return joint.join(self.say(part) for part in parts)
        return None

    def figure(self, text: str) -> str:
        """Figures with the decimal sign of the language; units as the language writes them."""
        if self.language == "en":
            return text
        return _DECIMAL.sub(r"\1,\2", text).replace("deg ", "deg").replace("degC", "°C").replace("degF", "°F")

    def block(self, block: Block) -> Block:
        """A part of the record; own words and names stay."""
        if self.language == "en":
            return block
        own = [head in _OWN_COLUMNS or (block.title, head) in _OWN_CELLS for head in block.head]
        return replace(
            block,
            title=self.say(block.title),
            facts=tuple((self.say(name), text if name in _OWN_FACTS else self.say(text)) for name, text in block.facts),
            head=tuple(self.say(head) for head in block.head),
            rows=tuple(
                tuple(cell if mine else self.say(cell) for cell, mine in zip(row, own, strict=True))
                for row in block.rows
            ),
            lines=tuple(self.say(line) for line in block.lines),
        )

    def markup(self, text: str) -> str:
        """HTML or SVG: its texts and labels, but nothing within an element that says `translate="no"`."""
        return text if self.language == "en" else "".join(self._marks(text))

    def _marks(self, text: str) -> Iterator[str]:
        kept: list[str] = []
        """Elements that are open since the outermost one that is not to be translated."""
        for match in _MARK.finditer(text):
            whole, closes, name, attributes = match.group(0), match.group(2), match.group(3), match.group(4)
            if match.group(1) or whole.startswith("<!"):
                yield whole
            elif name is None:
                yield whole if kept else escape(self.say(unescape(whole)), quote=False)
            elif closes:
                if kept:
                    kept.pop()
                yield whole
            else:
                opens = name not in _VOID and not attributes.endswith("/")
                if opens and (kept or 'translate="no"' in attributes):
                    kept.append(name)
                yield whole if kept else _LABEL.sub(self._label, whole)

    def _label(self, match: re.Match[str]) -> str:
        before, quote, text = match.groups()
        return whole_label(before, quote, self.say(unescape(text))) if "aria-label" in before else match.group(0)


def whole_label(before: str, quote: str, text: str) -> str:
    """An attribute with its text."""
    return f"{before}{quote}{escape(text, quote=True)}{quote}"


def _row(english: str, text: str) -> _Row:
    pieces = _FIELD.split(english)
    """Text, number, kind, text, number, kind, ..., text."""
    literals, kinds = pieces[::3], [kind or "" for kind in pieces[2::3]]
    pattern = re.escape(literals[0])
    for kind, literal in zip(kinds, literals[1:], strict=True):
        quoted = kind == "" and pattern.endswith("“") and literal.startswith("”")
        pattern += ("([^”]*)" if quoted else _PATTERNS[kind]) + re.escape(literal)
    longest, weight = max(literals, key=len), sum(map(len, literals))
    return _Row(re.compile(pattern, re.DOTALL), tuple(kinds), longest, weight, _FIELD.sub(r"{\1}", text))
