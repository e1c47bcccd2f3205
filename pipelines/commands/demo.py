"""`droplight demo`: the sample inspection, from sound and photos to a draft."""

import argparse
import shutil
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from models.settings import Settings, load_settings
from pipelines.commands.failure import Failure
from pipelines.commands.tools import open_store, print_record, reckoning, redrafting, rejudging, workshop

EXAMPLE = "droplight demo"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""
    parser.add_argument(
        "--no-serve", action="store_true", help="do not serve the review page at the end, even on a terminal"
    )


def _inbox(folder: Path) -> Path:
    """A copy of the sample's inbox: what is taken in leaves the inbox."""
    from samples import demo_folder

    inbox = folder / "inbox"
    shutil.copytree(demo_folder() / "inbox", inbox)
    return inbox


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Take the sample in, draft, print, and say where the page is."""
    from capture.ingest import ingest, scan
    from models.capture import Rejection
    from pipelines.order import advance
    from pipelines.review.serve import ServeError, serve
    from samples import demo_folder

    home = settings.home / "demo"
    if home.exists():
        shutil.rmtree(home)  # the demo's own folder, made anew each time
    home.mkdir(parents=True)
    shutil.copyfile(demo_folder() / "settings.yaml", home / "settings.yaml")
    settings = load_settings(home).model_copy(update={"database_url": ""})
    shop = workshop(settings)
    with tempfile.TemporaryDirectory() as folder, open_store(settings) as store:
        inbox = _inbox(Path(folder))
        names = []
        for path in scan(inbox):
            print(f"taking in {path.name}", flush=True)
            taken = ingest(path, inbox, store, home, datetime.now(UTC))
            if isinstance(taken, Rejection):
                raise Failure(taken.reason)
            names.append(taken.sha256)
        inspection = None
        for sha256 in names:
            inspection = advance(store, sha256, shop) or inspection
        record = store.draft(inspection) if inspection else None
        if record is None:
            raise Failure("The sample gave no draft. Run: droplight doctor")
        print_record(record)
        if args.no_serve or not sys.stdout.isatty():
            address = f"http://{settings.review.host}:{settings.review.port}/"
            print(f"\nReview page: {address} Serve it, and get the link that opens it, with:")
            print(f"  {sys.argv[0]} --home {home} review")
            return 0
        try:
            serve(
                store,
                home,
                settings,
                rejudging(settings),
                redrafting(store, settings),
                reckoning(settings),
            )
        except ServeError as error:
            raise Failure(str(error)) from None
    return 0
