"""What is logged, and in which form: plain sentences, or one JSON object a line."""

import json
import logging
import socket
import sys
from datetime import UTC, datetime

from models.settings import LogSettings
from models.trace import current_trace

# What our own log calls may add with `extra`.
FIELDS = ("stage", "seconds", "sound_s", "inspection", "captures", "file", "endpoint", "findings", "flagged")
# They tell of each job and request; what matters of it our own loggers say.
_TALKATIVE = ("procrastinate", "alembic", "uvicorn", "httpx", "botocore", "s3fs", "asyncio", "watchdog")


class Plain(logging.Formatter):
    """The sentence alone; where an exception came from is for those who asked for every detail."""

    def format(self, record: logging.LogRecord) -> str:
        """One line, or several at level debug."""
        if logging.getLogger().isEnabledFor(logging.DEBUG):
            return super().format(record)
        return record.getMessage()


class JsonLines(logging.Formatter):
    """One JSON object a line: ``at`` (RFC 3339), ``level``, ``logger``, ``message``, ``trace`` and more."""

    def __init__(self) -> None:
        super().__init__()
        self._host = socket.gethostname()

    def format(self, record: logging.LogRecord) -> str:
        """The object on one line."""
        line: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            "host": self._host,
            "process": record.process,
        }
        if trace := getattr(record, "trace", "") or current_trace():
            line["trace"] = trace
        line |= {name: record.__dict__[name] for name in FIELDS if name in record.__dict__}
        if record.exc_info:
            line["exception"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False, default=str)


def set_up_logs(settings: LogSettings) -> None:
    """Log to standard error from now on as the settings say; doing it again replaces what was set."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines() if settings.format == "json" else Plain("%(message)s"))
    root = logging.getLogger()
    for old in [h for h in root.handlers if getattr(h, "of_droplight", False)]:
        root.removeHandler(old)
    handler.of_droplight = True  # type: ignore[attr-defined]
    root.addHandler(handler)
    root.setLevel(settings.level.upper())
    for name in _TALKATIVE:
        logging.getLogger(name).setLevel(max(root.level, logging.WARNING))
