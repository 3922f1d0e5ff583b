"""A plan as a sheet for the job file: one self-contained HTML page, or the same as PDF."""

from __future__ import annotations

import io
from datetime import datetime, timezone

from fpdf import FPDF
from fpdf.enums import VAlign, XPos, YPos
from fpdf.fonts import FontFace
from jinja2 import Environment, PackageLoader, StrictUndefined

from assistant.bolting.planning.plan import GroupPlan, Plan
from assistant.bolting.reason import Reason
from assistant.bolting.remark import Remark
from assistant.report.bolt_svg import svg_picture
from assistant.report.coupling_picture import coupling_svg
from assistant.report.plan_budget import budget_svg
from assistant.report.plan_content import PASS_HEADINGS, GroupContent, PlanContent, grade_in, plan_content, said_in
from assistant.report.wording import ENGLISH, Words

SET_COLUMN = PASS_HEADINGS.index("Set wrench")
_FONT = "helvetica"
_INDENT_MM = 6.0
_PICTURE_MM = 78.0
_PASS_WIDTHS = (12, 22, 15, 26, 38, 27, 40)


def plan_html(plan: Plan, words: Words = ENGLISH) -> str:
    """The sheet as one HTML page: no scripts, no outside references, printable on A4."""
    pages = Environment(
        loader=PackageLoader("assistant.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    return pages.get_template("plan_sheet.html.j2").render(
        sheet=said_in(plan_content(plan), words),
        language=words.language,
        say=words.say,
        grade=lambda remark: grade_in(remark, words),
        parts=_parts(plan, words),
        pictures=[_picture(each, words) for each in plan.groups],
        budgets=[_budget(each, words) for each in plan_content(plan).groups],
        headings=tuple(map(words.say, PASS_HEADINGS)),
        set_column=SET_COLUMN,
    )


def plan_pdf(plan: Plan, words: Words = ENGLISH) -> bytes:
    """The sheet as PDF, A4. Letters outside Latin-1 are shown as '?': the built-in fonts have no others."""
    sheet, say = said_in(plan_content(plan), words), words.say
    title = say(f"Tightening plan: {sheet.title}")
    pdf = _Paper(title, plan, words)
    pdf.heading(title, size=16)
    pdf.facts(sheet.facts)
    pdf.boxed(sheet.safety)
    if sheet.stops:
        pdf.heading(say("Stops before the first bolt"))
        pdf.facts(sheet.stops, names_mm=62)
    if _parts(plan, words):
        pdf.heading(say("Parts"))
        pdf.drawing(_parts(plan, words))
    for group, plain in zip(sheet.groups, plan_content(plan).groups, strict=True):
        _pdf_group(pdf, group, _budget(plain, words))
    pdf.heading(say("Asked by voice"))
    pdf.facts(sheet.questions, names_mm=62)
    if sheet.remarks:
        pdf.heading(say("Remarks on the joint"))
        pdf.remarks(sheet.remarks)
    _pdf_calculation(pdf, sheet)
    pdf.heading(say("Checked by a competent person"))
    pdf.grid([(say("Name"), say("Date"), say("Signature")), (" \n ", "", "")], bold_column=None)
    return bytes(pdf.output())


def _parts(plan: Plan, words: Words) -> str:
    """The labelled parts of a kind of joint whose parts have names of our own; '' for the others."""
    return words.markup(coupling_svg()) if plan.joint.kind == "split clamp coupling" else ""


def _picture(group: GroupPlan, words: Words) -> str:
    own = group.figures.tightening
    return svg_picture(
        group.family,
        group.bolts,
        order=group.order,
        columns=own.columns,
        rows=own.rows,
        title=group.name,
        say=words.say,
    )


def _budget(group: GroupContent, words: Words) -> str:
    return words.markup(budget_svg(group.plan.budget, unit=group.force_unit, title=group.title))


def _pdf_group(pdf: _Paper, group: GroupContent, budget: str) -> None:
    say = pdf.said.say
    pdf.heading(say(f"Bolt group: {group.title}"))
    pdf.facts(group.facts)
    pdf.picture(_picture(group.plan, pdf.said))
    pdf.grid([tuple(map(say, PASS_HEADINGS)), *group.rows], bold_column=SET_COLUMN, widths=_PASS_WIDTHS)
    pdf.facts(group.orders)
    pdf.heading(say(f"Load budget: {group.title}"))
    pdf.drawing(budget)
    pdf.remarks(group.remarks)


def _pdf_calculation(pdf: _Paper, sheet: PlanContent) -> None:
    for group in sheet.groups:
        pdf.heading(pdf.said.say(f"Calculation sheet: {group.title}"))
        for number, reason in enumerate(group.reasons, start=1):
            pdf.reason(number, reason)


class _Paper(FPDF):
    """An A4 document with the few shapes that a sheet needs."""

    def __init__(self, title: str, plan: Plan, words: Words) -> None:
        super().__init__(format="A4")
        self.said = words
        self.set_lang(words.language)
        self.set_title(_latin(title))
        self.set_creation_date(datetime(plan.day.year, plan.day.month, plan.day.day, tzinfo=timezone.utc))
        self.set_margin(15)
        self.set_auto_page_break(True, margin=16)
        self._foot = _latin(f"{title} - {plan.day.isoformat()}")
        self.add_page()

    def footer(self) -> None:
        """Title, day and page at the foot of each page."""
        self.set_y(-12)
        self.set_font(_FONT, size=7)
        self.cell(0, 4, f"{self._foot} - {self.said.say('page')} {self.page_no()}", align="R")

    def words(self, text: str, *, size: float = 9, style: str = "", indent: float = 0.0) -> None:
        """A paragraph."""
        self.set_font(_FONT, style, size)
        self.set_x(self.l_margin + indent)
        self.multi_cell(0, size * 0.46, _latin(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def heading(self, text: str, *, size: float = 12) -> None:
        """A heading that does not stand alone at the foot of a page."""
        if self.will_page_break(52):
            self.add_page()
        self.ln(3)
        self.words(text, size=size, style="B")
        self.ln(1)

    def facts(self, pairs: tuple[tuple[str, str], ...], *, names_mm: float = 28) -> None:
        """Names and texts side by side."""
        self.set_font(_FONT, size=9)
        with self.table(
            borders_layout="NONE",
            col_widths=(names_mm, 180 - names_mm),
            text_align="LEFT",
            first_row_as_headings=False,
            line_height=4.2,
        ) as table:
            for pair in pairs:
                row = table.row()
                for text in pair:
                    row.cell(_latin(text), v_align=VAlign.T)
        self.ln(1)

    def boxed(self, lines: tuple[str, ...]) -> None:
        """The safety lines in a frame."""
        self.set_font(_FONT, "B", 9)
        self.multi_cell(
            0, 4.6, _latin("\n".join(lines)), border=1, align="L", padding=2, new_x=XPos.LMARGIN, new_y=YPos.NEXT
        )

    def grid(self, rows: list[tuple[str, ...]], *, bold_column: int | None, widths: tuple[int, ...] = ()) -> None:
        """A ruled table, first row as headings."""
        self.set_font(_FONT, size=9)
        with self.table(
            text_align="LEFT",
            col_widths=widths or None,
            headings_style=FontFace(emphasis="BOLD", fill_color=235),
            line_height=5,
        ) as table:
            for at, cells in enumerate(rows):
                row = table.row()
                for column, text in enumerate(cells):
                    bold = at > 0 and column == bold_column
                    row.cell(_latin(text), style=FontFace(emphasis="BOLD") if bold else None)
        self.ln(2)

    def picture(self, svg: str) -> None:
        """The bolts of a group, in the middle."""
        if self.will_page_break(_PICTURE_MM + 40):
            self.add_page()
        self.image(io.BytesIO(_latin(svg).encode("utf-8")), x=(self.w - _PICTURE_MM) / 2, w=_PICTURE_MM)
        self.ln(2)

    def drawing(self, svg: str) -> None:
        """A drawing as wide as the text."""
        if self.will_page_break(70):
            self.add_page()
        self.image(io.BytesIO(_latin(svg).encode("utf-8")), w=self.epw)
        self.ln(2)

    def remarks(self, found: tuple[Remark, ...]) -> None:
        """Graded remarks, a stop in bold."""
        for each in found:
            source = f" [{each.source}]" if each.source else ""
            self.words(
                f"{grade_in(each, self.said).upper()}: {each.text}{source}", style="B" if each.grade == "stop" else ""
            )
            self.ln(1)

    def reason(self, number: int, reason: Reason) -> None:
        """One line of the calculation sheet."""
        if self.will_page_break(12 + 4 * len(reason.terms)):
            self.add_page()
        self.words(f"{number}. {reason.title}", style="B")
        if reason.formula:
            self.words(reason.formula, indent=_INDENT_MM)
        for term in reason.terms:
            self.words(f"{term.text} [{term.source}]", size=8, indent=2 * _INDENT_MM)
        self.words(f"-> {reason.result}", style="B", indent=_INDENT_MM)
        self.words(f"[{reason.source}]", size=7.5, indent=_INDENT_MM)
        self.ln(1.5)


def _latin(text: str) -> str:
    text = text.replace("„", '"').replace("“", '"')
    return text.encode("latin-1", "replace").decode("latin-1")
