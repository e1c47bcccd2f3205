"""The review pages as one application."""

from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import PlainTextResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware

from capture.originals import open_originals
from models.settings import Settings
from models.store import Store
from pipelines.review import (
    accuracy,
    actions,
    after,
    api,
    arrange,
    bay,
    decisions,
    health,
    login,
    media,
    pages,
    upload,
)
from pipelines.review.case import Reckon, Redraft, Rejudge
from pipelines.review.desk import HERE, Desk, in_thread
from pipelines.review.door import Door
from pipelines.review.earlier import EarlierValues
from pipelines.review.guard import HOSTS, Guard


async def _not_done(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if request.url.path.startswith("/api/"):
        return api.problem(error.status_code, str(error.detail))
    sentence = "There is no such page." if error.detail == "Not Found" else str(error.detail)
    return await in_thread(request, error.status_code, sentence)


async def _not_understood(request: Request, error: Exception) -> Response:
    sentence = "The address cannot be understood; nothing was changed."
    if request.url.path.startswith("/api/"):
        return api.problem(400, sentence)
    return await in_thread(request, 400, sentence)


async def _failed(request: Request, error: Exception) -> Response:
    sentence = "Something failed while this was done. Look at the list to see what was kept, then try again."
    return PlainTextResponse(sentence, 500)


def create_app(
    store: Store,
    home: Path,
    settings: Settings,
    rejudge: Rejudge | None = None,
    redraft: Redraft | None = None,
    key: str | None = None,
    reckon: Reckon | None = None,
) -> FastAPI:
    """The review pages.

    Args:
        store: where inspections are kept.
        home: the data folder.
        settings: the shop's name for the top of the page, the names under which the pages answer, where
            originals are kept.
        rejudge: judges findings again after the reviewer changed some; without it changed findings are
            shown and signed as "not judged".
        redraft: draws a draft up again after a stray capture joined it; without it the next arrival does.
        key: of the start-up link, which opens the pages as long as there are no accounts; without it only
            accounts do.
        reckon: finds the estimate of a record anew after every decision.
    """
    app = FastAPI(
        title="Droplight", version="1", docs_url=None, redoc_url=None, openapi_url="/api/openapi.json"
    )
    app.state.desk = Desk(
        store=store,
        home=home,
        shop=settings.shop,
        rejudge=rejudge,
        earlier=EarlierValues(store),
        originals=open_originals(home, settings.originals_url),
        redraft=redraft,
        reckon=reckon,
        inbox=settings.review.inbox,
        automatic=settings.delivery.automatic,
    )
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for routes in (
        pages,
        actions,
        decisions,
        after,
        accuracy,
        arrange,
        bay,
        upload,
        media,
        api,
        health,
        login,
    ):
        app.include_router(routes.router)

    @app.get("/favicon.ico", include_in_schema=False)
    def no_icon() -> Response:
        return Response(status_code=204)

    app.add_exception_handler(HTTPException, _not_done)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(Exception, _failed)
    app.state.attempts = login.Attempts()
    # The last one added is the first one met: own pages, own names, own people.
    app.add_middleware(GZipMiddleware, minimum_size=2000, compresslevel=5)
    app.add_middleware(Door, people=store.people, key=key)
    hosts = [*HOSTS, *settings.review.names]
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=hosts, www_redirect=False)
    app.add_middleware(Guard)
    return app
