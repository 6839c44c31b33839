"""The log: one line of JSON for each thing that happened, on standard error."""

import json
import logging
from datetime import UTC, datetime
from typing import Any


class JsonLines(logging.Formatter):
    """A record as one line, whatever its text holds; `extra={"fields": …}` become fields of their own."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, in ASCII, with every line break within a text escaped."""
        line = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "message": record.getMessage(),
            **getattr(record, "fields", {}),
        }
        if record.exc_info:
            line["traceback"] = self.formatException(record.exc_info)
        return json.dumps(line)


# The server's own messages have the same shape; in place of its access log stands the line of `observing.py`.
LOG_CONFIG: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"json": {"()": JsonLines}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "json"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        "fillwright": {"level": "INFO"},
        "fillwright.connection": {"level": "ERROR"},
        "uvicorn": {"level": "INFO"},
    },
}
