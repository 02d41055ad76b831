"""Where the log's lines go and what they look like: to standard error, one a line, as JSON or as plain words.

Every line that a request gives rise to bears the request's number.
"""

import logging
import sys
from contextvars import ContextVar
from typing import Any

FORMS = ("json", "plain", "off")
request_number: ContextVar[str] = ContextVar("request_number", default="")


class Numbered(logging.Filter):
    """Puts the request's number on a record, in place of a request, which would say what was asked for, names too."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request = request_number.get()
        return True


def config(form: str, level: str) -> dict[str, Any]:
    """For `logging.config.dictConfig`. `form`: json, plain, off, or "" for plain on a terminal and JSON elsewhere.

    Raises ValueError where there is no such form.
    """
    form = form or ("plain" if sys.stderr.isatty() else "json")
    if form not in FORMS:
        raise ValueError(f"SHEDBOOK_LOG is one of {', '.join(FORMS)}, not “{form}”.")
    out = {"class": "logging.NullHandler"}
    if form != "off":
        out = {"class": "logging.StreamHandler", "formatter": form}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {"numbered": {"()": Numbered}},
        "formatters": {
            "plain": {"format": "%(asctime)s %(levelname)s %(message)s [%(request)s]"},
            "json": {
                "()": "pythonjsonlogger.json.JsonFormatter",
                "fmt": "%(asctime)s %(levelname)s %(name)s %(message)s",
                "rename_fields": {"asctime": "at", "levelname": "level", "name": "logger"},
            },
        },
        "handlers": {"out": {**out, "filters": ["numbered"]}},
        "root": {"handlers": ["out"], "level": "WARNING"},
        "loggers": {
            "shedbook": {"level": level},
            # Of requests that were refused, our own line tells enough; of faults this has the traceback.
            "django.request": {"level": "ERROR"},
            # As gunicorn makes them they write by themselves.
            "gunicorn.error": {"handlers": [], "propagate": True},
            "gunicorn.access": {"handlers": [], "propagate": False},
        },
    }
