"""`droplight review`: the pages for the reviewer."""

import argparse

from models.settings import Settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store, reckoning, redrafting, rejudging, sending

EXAMPLE = "droplight review --port 8417"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument("--port", type=int, help="port on 127.0.0.1; 0 takes a free one")


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Serve until interrupted."""
    from pipelines.review.serve import ServeError, serve

    if args.port is not None:
        if not 0 <= args.port <= 65535:
            raise Failure(f"{args.port} is no port: use 0 to 65535.")
        settings = settings.model_copy(
            update={"review": settings.review.model_copy(update={"port": args.port})}
        )
    rejudge, reckon = rejudging(settings), reckoning(settings)
    with open_store(settings) as store:
        try:
            with sending(store, settings):
                serve(store, settings.home, settings, rejudge, redrafting(store, settings), reckon)
        except ServeError as error:
            raise Failure(str(error)) from None
    return 0
