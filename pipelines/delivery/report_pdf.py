"""The report as PDF, black on white, with fonts inside it: the same record gives the same bytes."""

import io
import re
from collections.abc import Sequence
from html import escape
from typing import Any

from reportlab.lib.enums import TA_LEFT
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import registerFont, registerFontFamily
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    HRFlowable,
    Image,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from models.estimate_words import EstimateShown
from models.units import UNITS
from pipelines.delivery.report import ESTIMATE_HEADS, TITLES, Line, Report

_MARGIN = 19 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN - 12  # a page frame is padded by 6 points on each side
_PHOTO_WIDTH, _PHOTO_HEIGHT = 48 * mm, 34 * mm
_MONEY_WIDTH = 24 * mm
_UNITS = "|".join(re.escape(unit.words) for unit in UNITS.values())
_APART = re.compile(rf"(?<=\d) (?=(?:\d+/\d+|{_UNITS})(?!\w))")


def _styles() -> dict[str, ParagraphStyle]:
    base = ParagraphStyle(
        "text", fontName="Vera", fontSize=9.5, leading=13.5, alignment=TA_LEFT, splitLongWords=True
    )
    return {
        "text": base,
        "item": ParagraphStyle("item", base, leftIndent=12, bulletIndent=2, spaceAfter=2),
        "quiet": ParagraphStyle("quiet", base, fontSize=8, leading=11),
        "told": ParagraphStyle("told", base, fontSize=8, leading=11, leftIndent=12, spaceAfter=4),
        "part": ParagraphStyle("part", base, fontName="VeraBd", fontSize=10.5, leading=14),
        "reading": ParagraphStyle("reading", base, fontName="VeraBd", fontSize=11.5, leading=16),
        "title": ParagraphStyle("title", base, fontName="VeraBd", fontSize=19, leading=25, spaceAfter=6),
        "head": ParagraphStyle(
            "head", base, fontName="VeraBd", fontSize=13, leading=17, spaceBefore=12, spaceAfter=3
        ),
    }


class _Writer:
    """Turns texts into flowables of one look, leaving out characters that the font does not have."""

    def __init__(self) -> None:
        # Bitstream Vera comes with the library and has the signs of all units.
        for name, file in (("Vera", "Vera.ttf"), ("VeraBd", "VeraBd.ttf")):
            registerFont(TTFont(name, file))
        registerFontFamily("Vera", normal="Vera", bold="VeraBd", italic="Vera", boldItalic="VeraBd")
        self._known = TTFont("Vera", "Vera.ttf").face.charToGlyph
        self._styles = _styles()

    def plain(self, text: str) -> str:
        """The text as the font can show it; a character it lacks is named, never dropped.

        A number stays on one line with its fraction and its unit: 4 1/4 in broken after the 4 reads as 4.
        """
        text = _APART.sub("\u00a0", text)
        return "".join(c if ord(c) in self._known or c in "\n\t" else f"[U+{ord(c):04X}]" for c in text)

    def text(self, text: str, style: str = "text", bullet: str | None = None) -> Paragraph:
        return Paragraph(escape(self.plain(text)), self._styles[style], bulletText=bullet)

    def items(self, texts: Sequence[str]) -> list[Flowable]:
        return [self.text(text, "item", "–") for text in texts]

    def heading(self, text: str) -> list[Flowable]:
        return [self.text(text, "head"), HRFlowable(width="100%", thickness=1.2, color="black", spaceAfter=4)]


def _picture(jpeg: bytes) -> Image:
    width, height = ImageReader(io.BytesIO(jpeg)).getSize()
    scale = min(_PHOTO_WIDTH / width, _PHOTO_HEIGHT / height)
    return Image(io.BytesIO(jpeg), width * scale, height * scale)


def _beside(left: list[Flowable], right: list[Flowable]) -> Flowable:
    columns = [_WIDTH - _PHOTO_WIDTH - 4 * mm, _PHOTO_WIDTH + 4 * mm]
    style = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]
    return Table([[left, right]], colWidths=columns, style=style, hAlign="LEFT", splitInRow=1)


def _line(write: _Writer, line: Line) -> Flowable:
    left: list[Flowable] = [write.text(line.part, "part")]
    if bold := " · ".join(p for p in (line.reading, line.judged) if p):
        left.append(write.text(bold, "reading"))
    if line.work:
        left.append(write.text(line.work))
    left += [write.text(text) for text in (line.why, *line.further) if text]
    quiet = [f"Given as “{line.given}”"] if line.given else []
    quiet += [f"Held against: {rule.sentence} ({rule.whose}): {rule.result}" for rule in line.rules]
    quiet += [f"Looked at because: {doubt}" for doubt in line.doubts]
    quiet += [line.decided[:1].upper() + line.decided[1:]] if line.decided else []
    quiet += [f"Photo {p.caption}: the original is not at hand." for p in line.photos if p.jpeg is None]
    left += [write.text(text, "quiet") for text in quiet]
    right: list[Flowable] = []
    for photo in line.photos:
        if photo.jpeg is not None:
            right += [_picture(photo.jpeg), write.text(photo.caption, "quiet"), Spacer(1, 4)]
    body = [_beside(left, right)] if right else left
    rule = HRFlowable(width="100%", thickness=0.4, color="black", spaceBefore=5, spaceAfter=5)
    return KeepTogether([*body, rule])


def _first_page(write: _Writer, report: Report) -> list[Flowable]:
    rows = [[write.text(name, "quiet"), write.text(value)] for name, value in report.facts]
    flow: list[Flowable] = [write.text(report.shop)] if report.shop else []
    flow.append(write.text(f"Inspection of unit {report.unit}", "title"))
    flow.append(
        Table(
            rows,
            hAlign="LEFT",
            colWidths=[28 * mm, _WIDTH - 28 * mm],
            style=[("LEFTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 1)],
        )
    )
    flow += write.heading("In short")
    flow += [write.text(sentence) for sentence in report.summary]
    for title, lines in report.short():
        flow += [*write.heading(title), *write.items(lines)]
    flow.append(Spacer(1, 10))
    box = [[[write.text(report.signed, "part"), write.text(report.cautions[0])]]]
    flow.append(
        Table(box, colWidths=[_WIDTH], hAlign="LEFT", style=[("BOX", (0, 0), (-1, -1), 0.8, "black")])
    )
    return [*flow, PageBreak()]


def _flow(write: _Writer, report: Report) -> list[Flowable]:
    flow = _first_page(write, report)
    for group, title in TITLES.items():
        lines = report.of(group)
        if not lines:
            continue
        flow += write.heading(title)
        if group == "fine":
            for line in lines:
                told = [write.text(text, "told") for text in (line.why, *line.further) if text]
                flow.append(KeepTogether([*write.items([line.short]), *told]))
        else:
            flow += [_line(write, line) for line in lines]
    if report.estimate:
        flow += _estimate(write, report.estimate)
    if report.missing:
        flow += [*write.heading("What was planned and not measured"), *write.items(report.missing)]
    if report.notices:
        flow += [*write.heading("Notes on the files"), *write.items(report.notices)]
    flow += [*write.heading("Cautions"), *write.items(report.cautions)]
    return [*flow, write.text(f"{report.signed}. SHA-256 of the record: {report.sha256}", "quiet")]


def _estimate(write: _Writer, shown: EstimateShown) -> list[Flowable]:
    """What the work may cost, as tables that may go on over pages."""
    flow: list[Flowable] = [*write.heading("What the work may cost"), write.text(shown.whose)]
    widths = [_WIDTH - 4 * _MONEY_WIDTH, *[_MONEY_WIDTH] * 4]
    for part in shown.parts:
        rows: list[list[Any]] = [[write.text(name, "quiet") for name in ESTIMATE_HEADS]]
        for r in part.rows:
            work: list[Flowable] = [write.text(r.work), write.text(r.reason, "quiet")]
            rows.append([work, *(write.text(t, "quiet") for t in (r.hours, r.labor, r.parts, r.total))])
        rows.append([write.text("Together"), "", "", "", write.text(part.total, "quiet")])
        style = TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("LINEABOVE", (0, 0), (-1, -1), 0.4, "black"),
            ]
        )
        table = Table(rows, colWidths=widths, style=style, hAlign="LEFT", repeatRows=1, splitInRow=1)
        flow += [Spacer(1, 6), write.text(part.title, "part"), table]
    return [*flow, *(write.text(doubt) for doubt in shown.doubts)]


def pdf(report: Report) -> bytes:
    """The report as a PDF file."""
    write = _Writer()
    out = io.BytesIO()
    title = write.plain(f"Inspection of unit {report.unit}")
    foot = write.plain(f"Unit {report.unit[:40]} · record {report.sha256[:16]}")

    def footer(canvas: Canvas, page: SimpleDocTemplate) -> None:
        canvas.setFont("Vera", 7.5)
        canvas.drawString(_MARGIN, 11 * mm, foot)
        canvas.drawRightString(LETTER[0] - _MARGIN, 11 * mm, f"Page {canvas.getPageNumber()}")

    document = SimpleDocTemplate(
        out,
        pagesize=LETTER,
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN,
        title=title,
        author=write.plain(report.shop),
        invariant=1,
    )
    document.build(_flow(write, report), onFirstPage=footer, onLaterPages=footer)
    return out.getvalue()
