"""The report as one HTML file without anything outside of it: no scripts, no links, pictures inside."""

import base64
from html import escape

from models.estimate_words import EstimateShown
from pipelines.delivery.report import ESTIMATE_HEADS, TITLES, Line, Report

_STYLE = """
body{font:11pt/1.45 Georgia,'DejaVu Serif',serif;color:#111;background:#fff;
max-width:46em;margin:2em auto;padding:0 1em}
h1{font-size:20pt;margin:0}h2{font-size:14pt;border-bottom:2px solid #111;margin:1.6em 0 .6em}
h3{font-size:11.5pt;margin:0}dl.head{display:grid;grid-template-columns:max-content 1fr;gap:.1em 1.2em}
dt{color:#444}dd{margin:0}article{border-top:1px solid #999;padding:.7em 0;break-inside:avoid}
article:first-of-type{border-top:0}p{margin:.25em 0}.reading{font-size:12.5pt;font-weight:bold}
.quiet{color:#444;font-size:9.5pt}table{border-collapse:collapse;width:100%}
th,td{text-align:left;vertical-align:top;border-top:1px solid #999;padding:.2em .5em .2em 0}
figure{margin:.5em 0}
img{max-width:15em;max-height:11em;border:1px solid #666}
figcaption{font-size:9pt;color:#444}.sum{break-after:page}.box{border:1px solid #111;padding:.5em .9em}
@media print{body{margin:0;max-width:none}}
"""


def _p(text: str, kind: str = "") -> str:
    return f"<p{f' class={kind}' if kind else ''}>{escape(text)}</p>" if text else ""


def _line(line: Line) -> str:
    pieces = [
        f"<h3>{escape(line.part)}</h3>",
        _p(" · ".join(p for p in (line.reading, line.judged) if p), "reading"),
        _p(f"Given as “{line.given}”" if line.given else "", "quiet"),
        _p(line.work),
        _p(line.why),
        *(_p(sentence) for sentence in line.further),
    ]
    for rule in line.rules:
        pieces.append(_p(f"Held against: {rule.sentence} ({rule.whose}): {rule.result}", "quiet"))
    pieces += [_p(f"Looked at because: {doubt}", "quiet") for doubt in line.doubts]
    pieces.append(_p(line.decided[:1].upper() + line.decided[1:], "quiet"))
    for photo in line.photos:
        if photo.jpeg is None:
            pieces.append(_p(f"Photo {photo.caption}: the original is not at hand.", "quiet"))
            continue
        data = base64.b64encode(photo.jpeg).decode("ascii")
        caption = escape(photo.caption)
        image = f'<img alt="{caption}" src="data:image/jpeg;base64,{data}">'
        pieces.append(f"<figure>{image}<figcaption>{caption}</figcaption></figure>")
    return f"<article>{''.join(pieces)}</article>"


def _fine(line: Line) -> str:
    """What is within its limit, in short, and below it what it was held against."""
    pieces = [_p(text, "quiet") for text in (line.why, *line.further)]
    return f"<article>{_p(line.short)}{''.join(pieces)}</article>"


def _list(items: tuple[str, ...]) -> str:
    return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}</ul>" if items else ""


def _first_page(report: Report) -> str:
    facts = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in report.facts)
    parts = [
        _p(report.shop),
        f"<h1>Inspection of unit {escape(report.unit)}</h1>",
        f'<dl class="head">{facts}</dl>',
        "<h2>In short</h2>",
        *(_p(sentence) for sentence in report.summary),
    ]
    for title, lines in report.short():
        parts += [f"<h2>{title}</h2>", _list(lines)]
    parts.append(f'<div class="box">{_p(report.signed)}{_p(report.cautions[0])}</div>')
    return f'<section class="sum">{"".join(parts)}</section>'


def _estimate(shown: EstimateShown) -> str:
    """What the work may cost, as tables."""
    pieces = ["<section><h2>What the work may cost</h2>", _p(shown.whose)]
    for part in shown.parts:
        rows = "".join(
            f"<tr><td>{escape(r.work)}<br><span class=quiet>{escape(r.reason)}</span></td>"
            f"<td>{escape(r.hours)}</td><td>{escape(r.labor)}</td><td>{escape(r.parts)}</td><td>{escape(r.total)}</td></tr>"
            for r in part.rows
        )
        head = "".join(f"<th>{name}</th>" for name in ESTIMATE_HEADS)
        foot = f"<tr><td colspan=4>Together</td><td>{escape(part.total)}</td></tr>"
        pieces.append(f"<h3>{escape(part.title)}</h3><table><tr>{head}</tr>{rows}{foot}</table>")
    return "".join([*pieces, *(_p(doubt) for doubt in shown.doubts), "</section>"])


def html(report: Report) -> str:
    """The report as HTML text, UTF-8 declared."""
    parts = [_first_page(report)]
    for group, title in TITLES.items():
        lines = report.of(group)
        if not lines:
            continue
        shown = "".join(map(_line if group != "fine" else _fine, lines))
        parts.append(f"<section><h2>{title}</h2>{shown}</section>")
    if report.estimate:
        parts.append(_estimate(report.estimate))
    if report.missing:
        parts.append(f"<section><h2>What was planned and not measured</h2>{_list(report.missing)}</section>")
    if report.notices:
        parts.append(f"<section><h2>Notes on the files</h2>{_list(report.notices)}</section>")
    parts.append(f"<section><h2>Cautions</h2>{_list(report.cautions)}</section>")
    parts.append(_p(f"{report.signed}. SHA-256 of the record: {report.sha256}", "quiet"))
    head = (
        f"<meta charset=utf-8><title>Inspection of unit {escape(report.unit)}</title><style>{_STYLE}</style>"
    )
    width = '<meta name="viewport" content="width=device-width">'
    return f'<!doctype html><html lang="en"><head>{head}{width}</head><body>{"".join(parts)}</body></html>\n'
