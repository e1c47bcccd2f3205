"""The shop's own accuracy: how often drafts were right, by what was signed; never by person."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from pipelines.evaluation import By, judged_in, shares
from pipelines.review.desk import ADesk, page

router = APIRouter(include_in_schema=False)
MOST_RECORDS = 200
"""The newest: what the program heard years ago says little of what it hears now."""
_WAYS: tuple[tuple[By, str], ...] = (("source", "Source"), ("part", "Part"), ("measure", "Measure"))
_SOURCES = {"both": "voice and photo", "none": "neither voice nor photo"}


@router.get("/accuracy")
def accuracy_page(request: Request, desk: ADesk) -> Response:
    """Drafted against signed, in all and by source, part and measure."""
    records, judged = judged_in(desk.store, MOST_RECORDS)
    tables = [
        (heading, {_SOURCES.get(name, name): share for name, share in shares(judged, by).items()})
        for by, heading in _WAYS
    ]
    return page(
        request,
        "accuracy.html",
        records=records,
        most=MOST_RECORDS,
        whole=shares(judged).get("all"),
        tables=tables,
    )
