"""What is written beside JSON and CSV: the report, and the shop's own tables."""

from collections.abc import Sequence
from pathlib import Path

from capture.originals import Folder, Originals
from models.record import Record
from pipelines.delivery.export import Extras
from pipelines.delivery.mapping import load_mapping, mapped_table


def making(
    home: Path, shop: str, tables: Sequence[str], with_report: bool, originals: Originals | None = None
) -> Extras:
    """Makes the further files of a record.

    Args:
        home: the data folder.
        shop: the shop's name, for the report.
        tables: names of the shop's own tables.
        with_report: HTML and PDF for the owner.
        originals: where originals are kept; by default in the data folder.

    Raises:
        MappingError: a table's file cannot be used.
    """
    mappings = {name: load_mapping(name, home) for name in tables}

    def make(record: Record) -> dict[str, bytes]:
        made = {f".{name}.csv": mapped_table(record, mapping).encode() for name, mapping in mappings.items()}
        if with_report:
            from pipelines.delivery.pictures import cropping
            from pipelines.delivery.report import report
            from pipelines.delivery.report_html import html
            from pipelines.delivery.report_pdf import pdf

            told = report(record, shop, cropping(record, originals or Folder(home / "originals")))
            made |= {".html": html(told).encode(), ".pdf": pdf(told)}
        return made

    return make
