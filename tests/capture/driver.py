"""Watches an inbox and takes files in until it is killed: ``driver.py INBOX HOME``."""

import sys
import threading
from datetime import UTC, datetime
from pathlib import Path

from capture.ingest import ingest
from capture.watch import watch
from models.settings import WatchSettings
from models.store import Store


def main() -> None:
    inbox, home = Path(sys.argv[1]), Path(sys.argv[2])
    store = Store.open(f"sqlite:///{home / 'droplight.db'}")
    print("watching", flush=True)
    settings = WatchSettings(settle_s=0.05, rescan_s=0.2)
    watch(
        inbox,
        lambda path: ingest(path, inbox, store, home, datetime.now(UTC)) and None,
        settings,
        threading.Event(),
    )


if __name__ == "__main__":
    main()
