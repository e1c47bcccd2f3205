"""For whoever watches over the pages: ``/health`` for everybody, the figures for those who are let in."""

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from pipelines.operations.health import health
from pipelines.operations.measuring import exposition
from pipelines.review.desk import ADesk

router = APIRouter(include_in_schema=False)


@router.get("/health/live")
def live() -> Response:
    """The program runs."""
    return JSONResponse({"status": "alive"})


@router.get("/health")
def ready(desk: ADesk) -> Response:
    """Whether it can do its work; what is wrong is told by ``droplight doctor``, not to everybody."""
    found = health(desk.store, desk.home)
    status = {"status": "ready" if found.ready else "not ready"}
    return JSONResponse(status, 200 if found.ready else 503)


@router.get("/api/metrics")
def metrics(desk: ADesk) -> Response:
    """The figures in Prometheus' format, behind the same door as the records."""
    return Response(exposition(desk.store), media_type="text/plain; version=0.0.4; charset=utf-8")
