"""What the routes share: the store, the folders, who is reviewing, and how a page is put together."""

import asyncio
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import parse_qsl, quote, unquote

from fastapi import Depends, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from fastapi.templating import Jinja2Templates
from starlette.concurrency import run_in_threadpool

from capture.originals import Originals
from models.store import Store
from pipelines.review import words
from pipelines.review.case import Case, Reckon, Redraft, Rejudge, load_case
from pipelines.review.earlier import EarlierValues
from pipelines.review.forms import Mistake
from pipelines.review.visitor import visitor_of

HERE = Path(__file__).parent
REVIEWER = "reviewer"
LONGEST_NAME = 80
MOST_FIELDS = 100
BODY_WITHIN_S = 10.0
"""A form is small: whoever takes longer to send one is not a browser on this network."""

_INDENT = re.compile(r"\n\s+")
_ID = "[A-Za-z0-9-]{1,64}"
_OWN_PAGE = re.compile(rf"/(inspections/{_ID}(/add|/findings/{_ID}/(edit|reject|arrange))?|bay(/send)?)?")

templates = Jinja2Templates(directory=HERE / "templates")
templates.env.globals.update(
    words_of=words.words_of,
    unit_words=words.unit_words,
    time_words=words.time_words,
    limit_key=words.limit_key,
)
templates.env.trim_blocks = templates.env.lstrip_blocks = True


@dataclass(frozen=True)
class Desk:
    """One set of review pages.

    Attributes:
        store: where inspections are kept.
        home: the data folder; review copies are made in it.
        shop: the shop's name, or empty.
        rejudge: judges findings again after a person changed some, if there is a judge.
        earlier: values of signed records, for comparison.
        originals: where the originals of captures are kept.
        redraft: draws a draft up again after a capture joined it, if there is somebody to do it.
        reckon: finds the estimate anew after decisions, if the shop has a table.
        inbox: where files that phones send are put; None: nowhere.
        automatic: signed records are sent to receivers without anybody asking for it.
    """

    store: Store
    home: Path
    shop: str
    rejudge: Rejudge | None
    earlier: EarlierValues
    originals: Originals
    redraft: Redraft | None = None
    reckon: Reckon | None = None
    inbox: Path | None = None
    automatic: bool = False

    def case(self, id: str) -> Case:
        """The inspection as it stands.

        Raises:
            HTTPException: 404, there is none of that id.
        """
        case = load_case(self.store, id, self.rejudge, self.reckon)
        if case is None:
            raise HTTPException(404, "There is no such inspection.")
        return case


def desk_of(request: Request) -> Desk:
    """The desk of the running application."""
    desk: Desk = request.app.state.desk
    return desk


async def _form_fields(request: Request) -> dict[str, str]:
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise HTTPException(415, "Only plain forms are taken here.")
    try:
        async with asyncio.timeout(BODY_WITHIN_S):
            body = await request.body()
    except TimeoutError:
        raise HTTPException(408, "The form took too long to arrive; nothing was changed.") from None
    try:
        text = body.decode("utf-8")
        pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict")
    except ValueError:
        raise HTTPException(400, "The form cannot be read; nothing was changed.") from None
    fields: dict[str, list[str]] = {}
    for name, value in pairs:
        fields.setdefault(name, []).append(value.replace("\x00", ""))
    return {name: " ".join(values) for name, values in fields.items()}


ADesk = Annotated[Desk, Depends(desk_of)]
AForm = Annotated[dict[str, str], Depends(_form_fields)]
"""The fields of a form; a field that comes several times is joined by spaces."""


def reviewer_of(request: Request) -> str:
    """Whose decisions these are: the account's name, else the name given on this browser; empty when none."""
    visitor = visitor_of(request)
    if visitor is not None and visitor.person is not None:
        return visitor.person.name
    return clean_name(unquote(request.cookies.get(REVIEWER, "")))


def has_account(request: Request) -> bool:
    """Whether somebody signed in: then the account's name is the only one that decides and signs."""
    visitor = visitor_of(request)
    return visitor is not None and visitor.person is not None


def clean_name(name: str) -> str:
    """A name on one line, of a length that can be shown."""
    return " ".join(name.split())[:LONGEST_NAME]


def remember_reviewer(response: Response, name: str) -> None:
    """Keep the name on this browser for a month."""
    response.set_cookie(
        REVIEWER, quote(name), max_age=30 * 24 * 3600, httponly=True, samesite="strict", path="/"
    )


def page(request: Request, name: str, status: int = 200, **context: Any) -> Response:
    """A page made of a template."""
    shared = {
        "reviewer": reviewer_of(request),
        "visitor": visitor_of(request),
        "back": request.url.path,
        "shop": desk_of(request).shop,
    }
    text = templates.get_template(name).render({"request": request} | shared | context)
    return HTMLResponse(_INDENT.sub("\n", text), status_code=status)


def own_page(address: str) -> str:
    """The address if it is one of our own pages, else the list: a form never sends a browser elsewhere."""
    return address if _OWN_PAGE.fullmatch(address) else "/"


def go_to(address: str) -> Response:
    """Send the browser on to a page after a form was taken, so that reloading sends nothing twice."""
    return RedirectResponse(address, status_code=303)


def error_page(request: Request, status: int, sentence: str, mistakes: Sequence[Mistake] = ()) -> Response:
    """A page that says what went wrong."""
    return page(request, "error.html", status, sentence=sentence, mistakes=mistakes)


async def in_thread(request: Request, status: int, sentence: str) -> Response:
    """The error page, made off the event loop."""
    return await run_in_threadpool(error_page, request, status, sentence)
