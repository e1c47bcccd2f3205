"""What stands on a printed report, as a reader of the page or of the PDF has it."""

import html as html_text
import re
import shutil
import subprocess
from collections.abc import Callable

import pytest

from models.record import Record
from pipelines.delivery.report import Report, report
from pipelines.delivery.report_html import html
from pipelines.delivery.report_pdf import pdf


def report_of(record: Record) -> Report:
    """The report of a signed record, without pictures."""
    return report(record, "Quarry Fork", lambda evidence: None)


def words_of(page: str) -> str:
    """The words of a page of HTML, one blank between them."""
    return " ".join(html_text.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def as_html(made: Report) -> str:
    return words_of(html(made))


def as_pdf(made: Report) -> str:
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not on this computer")
    found = subprocess.run(
        ["pdftotext", "-layout", "-", "-"], input=pdf(made), capture_output=True, check=True
    )
    return found.stdout.decode()


Printed = Callable[[Report], str]
both = pytest.mark.parametrize("printed", [as_html, as_pdf], ids=["page", "PDF"])


def squeezed(text: str) -> str:
    """Without blanks: lines of a page break anywhere."""
    return "".join(text.split())
