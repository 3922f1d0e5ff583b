"""An archival A4 document (PDF/A-3, level U): fonts inside, headings as outline, tables that run over pages."""

from __future__ import annotations

import functools
import io
import logging
import re
from collections.abc import Iterator, Sequence
from datetime import datetime, timezone
from html import escape
from pathlib import Path

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from fpdf.fonts import TTFFont

from assistant.report.printable import printable
from assistant.report.wording import ENGLISH, Words

FONTS = Path(__file__).resolve().parent / "fonts"
FAMILY = "sans-serif"
"""Under this name, so that SVG pictures find it too."""
_FACES = (("", "DejaVuSansCondensed"), ("B", "DejaVuSansCondensed-Bold"), ("I", "DejaVuSansCondensed-Oblique"))
_MISSING = "\N{REPLACEMENT CHARACTER}"
_PAD_MM = 0.9

logging.getLogger("fontTools.subset").setLevel(logging.WARNING)


class Paper(FPDF):
    """The document.

    Args:
        title: of the document; stands at the foot of each page too.
        foot: what else stands there.
        made: creation time; the same record gives the same bytes.
        product: name and version that makes it.
        texts: the language that it is in.
    """

    def __init__(self, title: str, *, foot: str, made: datetime, product: str, texts: Words = ENGLISH) -> None:
        super().__init__(format="A4", enforce_compliance="PDF/A-3U")
        for style, name in _FACES:
            self.add_font(FAMILY, style, FONTS / f"{name}.ttf")
        font = self.fonts[FAMILY]
        assert isinstance(font, TTFFont)
        self._known = frozenset(font.cmap)
        self._title, self._foot = self.fit(title), self.fit(foot)
        self.made = made.astimezone(timezone.utc)
        self.set_title(self._title)
        self.texts, self.say = texts, texts.say
        self.set_lang(texts.language)
        self.set_creation_date(self.made)
        self.set_xmp_metadata(_xmp(self._title, self.made, product, texts.language))
        self.set_margin(15)
        self.c_margin = 0  # tables pad their own cells
        self.set_auto_page_break(True, margin=17)
        self.alias_nb_pages("{pages}")
        self.add_page()

    def footer(self) -> None:
        """Title, session and page at the foot of each page."""
        self.set_y(-12)
        self.set_font(FAMILY, size=7)
        self.cell(0, 4, f"{self._title} - {self._foot}")
        self.set_x(self.l_margin)
        self.cell(0, 4, self.say(f"page {self.page_no()} of {{pages}}"), align="R")

    def fit(self, text: str) -> str:
        """The text in signs that the fonts have; others become one that shows that something stood there."""
        shown = printable(text.replace("\n", " "))
        return "".join(sign if ord(sign) in self._known else _MISSING for sign in shown)

    def heading(self, text: str, *, level: int = 0, room_mm: float = 40) -> None:
        """A heading, also in the outline, that does not stand alone at the foot of a page."""
        if self.will_page_break(room_mm):
            self.add_page()
        if self.get_y() > self.t_margin + 1:
            self.ln(4 if level == 0 else 2.5)
        self.start_section(self.fit(text), level)
        self.words(text, size=12 if level == 0 else 9.5, style="B")
        if level == 0:
            self.set_draw_color(0)
            self.set_line_width(0.4)
            self.line(self.l_margin, self.get_y() + 0.4, self.w - self.r_margin, self.get_y() + 0.4)
        self.ln(1.6)

    def words(self, text: str, *, size: float = 8.5, style: str = "") -> None:
        """A paragraph."""
        self.set_font(FAMILY, style, size)
        self.set_x(self.l_margin)
        self.multi_cell(0, size * 0.46, self.fit(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def bullets(self, lines: Sequence[str]) -> None:
        """Sentences, each with its dot."""
        for line in lines:
            self.grid((), [("\N{BULLET}", line)], widths=(5, 175), rules=False)

    def facts(self, pairs: Sequence[tuple[str, str]], *, names_mm: float = 30) -> None:
        """Names and texts side by side."""
        self.grid((), list(pairs), widths=(names_mm, 180 - names_mm), rules=False)
        self.ln(1)

    def pictures(self, drawn: Sequence[tuple[str, float, str]]) -> None:
        """SVGs side by side, each with its width in mm and with what it shows for those who cannot see it."""
        shapes = [svg.split("viewBox='0 0 ", 1)[1].split("'", 1)[0].split(" ") for svg, _, _ in drawn]
        sizes = [(wide, wide * float(h) / float(w)) for (_, wide, _), (w, h) in zip(drawn, shapes, strict=True)]
        shrink = min(1.0, (self.eph - 20) / max(tall for _, tall in sizes))
        tallest = shrink * max(tall for _, tall in sizes)
        if self.will_page_break(tallest):
            self.add_page()
        top, x = self.get_y(), self.l_margin
        for (svg, _, words), (wide, tall) in zip(drawn, sizes, strict=True):
            signs = "".join(s if ord(s) in self._known else _MISSING for s in svg)
            y = top + (tallest - shrink * tall) / 2
            file = io.BytesIO(signs.encode("utf-8"))
            self.image(file, x=x, y=y, w=shrink * wide, alt_text=self.fit(words), title=self.say("Picture"))
            x += wide + 4
        self.set_xy(self.l_margin, top + tallest + 2)

    # ------------------------------------------------------------------------------------------------------ tables
    def grid(
        self,
        head: Sequence[str],
        rows: Sequence[Sequence[str]],
        *,
        widths: Sequence[float],
        rules: bool = True,
        size: float = 7.5,
        least_mm: float = 0,
    ) -> None:
        """A table; its head is repeated on each page, a row that does not fit on one goes on on the next.

        Args:
            widths: of the columns, relative; together they fill the page's width.
            rules: lines between rows.
            least_mm: least height of a row.
        """
        factor = self.epw / sum(widths)
        columns = [width * factor for width in widths]
        line_mm = size * 0.45
        if head:
            self._head(head, columns, size, line_mm)
        for row in rows:
            self.set_font(FAMILY, "", size)
            cells = [list(self._wrapped(text, width - 2 * _PAD_MM)) for text, width in zip(row, columns, strict=True)]
            while True:
                room = int((self.page_break_trigger - self.get_y() - 2 * _PAD_MM) / line_mm)
                tall = max(len(cell) for cell in cells)
                least = (least_mm - 2 * _PAD_MM) / line_mm
                if (room < tall and room < _SPLIT_FROM) or room < least:
                    self.add_page()
                    if head:
                        self._head(head, columns, size, line_mm)
                    self.set_font(FAMILY, "", size)
                    continue
                self._row([cell[:room] for cell in cells], columns, line_mm, rules=rules, least_mm=least_mm)
                cells = [cell[room:] for cell in cells]
                if not any(cells):
                    break
        self.set_y(self.get_y() + (1.5 if rules else 0))

    def _head(self, head: Sequence[str], columns: Sequence[float], size: float, line_mm: float) -> None:
        self.set_font(FAMILY, "B", size)
        cells = [list(self._wrapped(text, width - 2 * _PAD_MM)) for text, width in zip(head, columns, strict=True)]
        if self.will_page_break(line_mm * (max(map(len, cells)) + 3)):
            self.add_page()
        self._row(cells, columns, line_mm, rules=True, fill=True)

    def _row(
        self,
        cells: Sequence[Sequence[str]],
        columns: Sequence[float],
        line_mm: float,
        *,
        rules: bool,
        fill: bool = False,
        least_mm: float = 0,
    ) -> None:
        top, x = self.get_y(), self.l_margin
        height = max(max(len(cell) for cell in cells) * line_mm + (2 * _PAD_MM if rules else 0.7), least_mm)
        if fill:
            self.set_fill_color(232)
            self.rect(x, top, sum(columns), height, style="F")
        for lines, width in zip(cells, columns, strict=True):
            for at, line in enumerate(lines):
                self.set_xy(x + (_PAD_MM if rules else 0), top + (_PAD_MM if rules else 0) + at * line_mm)
                self.cell(width, line_mm, line)
            x += width
        if rules:
            self.set_draw_color(150)
            self.set_line_width(0.15)
            self.line(self.l_margin, top + height, x, top + height)
        self.set_xy(self.l_margin, top + height)

    def _wrapped(self, text: str, width: float) -> Iterator[str]:
        """The text in lines that fit; words that are too long are broken."""
        for paragraph in text.split("\n"):
            shown = self.fit(paragraph)
            if self.get_string_width(shown) <= width:
                yield shown
                continue
            line = ""
            for word in shown.split(" "):
                candidate = f"{line} {word}" if line else word
                if self.get_string_width(candidate) <= width:
                    line = candidate
                    continue
                if line:
                    yield line
                line = word
                while len(line) > 1 and self.get_string_width(line) > width:
                    first, line = self._broken(line, width)
                    yield first
            yield line

    def _broken(self, word: str, width: float) -> tuple[str, str]:
        """A word that is too long in two: between syllables where the language is German, else where it must be."""
        if self.texts.language == "de":
            for at in reversed(syllable_breaks(word)):
                if self.get_string_width(f"{word[:at]}-") <= width:
                    return f"{word[:at]}-", word[at:]
        fits = self._longest(word, width)
        return word[:fits], word[fits:]

    def _longest(self, word: str, width: float) -> int:
        """How many signs of a word fit; at least one."""
        low, high = 1, len(word)
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if self.get_string_width(word[:middle]) <= width else (low, middle - 1)
        return low


_ONSETS = (
    "sch schl schm schn schr schw ch ck ph th qu st sp str spr pf pfl pfr bl br dr fl fr gl gr kl kr kn pl pr tr zw"
)
_SYLLABLE = re.compile(
    rf"(?<=[aeiouyäöü])[^\W\d_aeiouyäöü]*?(?=(?:{'|'.join(sorted(_ONSETS.split(), key=len, reverse=True))}"
    r"|[bcdfghjklmnpqrstvwxzß])[aeiouyäöü])"
)
"""What stands between a vowel and the longest beginning of a syllable before the next one."""


def syllable_breaks(word: str) -> list[int]:
    """Places at which a German word may be broken: before the longest beginning that a syllable may have.

    Two letters stay on either side. Within a compound it may be off by a letter (Abstüt-zarm), which can be read.

    Returns:
        How many letters stand before each break, ascending; none within what is no plain word (a file, a figure).
    """
    letters = word.rstrip(".,:;!?)”“").lstrip("(„")
    if not letters.replace("-", "").isalpha():
        return []
    ends: dict[int, int] = {}
    for found in _SYLLABLE.finditer(word.lower()):
        ends.setdefault(found.start(), found.end())  # of a group of consonants the first place
    return [at for at in ends.values() if 2 <= at <= len(word) - 2 and word[at - 1] != "-"]


_SPLIT_FROM = 12
"""A row is broken over two pages only where at least this many of its lines fit on the first."""


@functools.cache
def _xmp(title: str, made: datetime, product: str, language: str) -> str:
    """Metadata as PDF/A asks for it; written here, so that no time of making slips in."""
    day = made.strftime("%Y-%m-%dT%H:%M:%S+00:00")
    name, by = (_harmless(escape(text)) for text in (title, product))
    return (
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" '
        'xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/" '
        'xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">'
        "<pdfaid:part>3</pdfaid:part><pdfaid:conformance>U</pdfaid:conformance>"
        "<dc:format>application/pdf</dc:format>"
        f'<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{name}</rdf:li></rdf:Alt></dc:title>'
        f"<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>"
        f"<xmp:CreatorTool>{by}</xmp:CreatorTool><pdf:Producer>{by}</pdf:Producer>"
        f"<xmp:CreateDate>{day}</xmp:CreateDate><xmp:ModifyDate>{day}</xmp:ModifyDate>"
        f"<xmp:MetadataDate>{day}</xmp:MetadataDate></rdf:Description></rdf:RDF></x:xmpmeta>"
    )


def _harmless(text: str) -> str:
    """Text in which no reader finds the marks of the file's own structure: metadata is not packed."""
    for mark in ("%%EOF", "endstream", "endobj", "startxref", "trailer"):
        text = text.replace(mark, f"&#{ord(mark[0])};{mark[1:]}")
    return text
