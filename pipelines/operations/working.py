"""What a worker does with one capture."""

import logging

from models.store import Store
from pipelines.deadline import StageFailed
from pipelines.order import advance
from pipelines.stages import is_done
from pipelines.workshop import Workshop

_log = logging.getLogger("droplight.worker")


def work_on(store: Store, shop: Workshop, sha256: str) -> None:
    """Do everything that is missing for a capture; doing it again, or twice at once, changes nothing.

    Args:
        store: the state.
        shop: the tools.
        sha256: of the capture.

    Raises:
        StageFailed: a recogniser hung, ran out of memory or failed; the draft says so, and it is worth
            another try.
    """
    capture = store.capture(sha256)
    if capture is None:
        _log.warning("%s was removed before it was worked on.", sha256[:12])
        return
    inspection = advance(store, sha256, shop)
    _log.info("%s is done, inspection %s.", capture.original_name, inspection or "none yet")
    if not is_done(capture, store, shop):
        raise StageFailed(f"{capture.original_name} could not be read through.")
