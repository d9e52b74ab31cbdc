"""How a log line is written: one JSON object, or words; with the number of the request that it belongs to."""

import datetime as dt
import json
import logging
from contextvars import ContextVar

answering = ContextVar("answering", default=None)
"""The config.asked.Asked that this thread or task is at, or None."""

WAYS = ("json", "words")
TALKATIVE = ("weasyprint", "fontTools")
"""Libraries that tell of each step of their work; what goes wrong in them is told all the same."""
OF_A_REQUEST = ("status", "ms", "queries")


def configuration(*, way, level):
    """Django's LOGGING: all lines to standard error, in one of WAYS, from `level` up."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"line": {"()": {"json": "config.logs.Json", "words": "config.logs.Words"}[way]}},
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
        "loggers": {name: {"level": "WARNING"} for name in TALKATIVE},
        "root": {"handlers": ["console"], "level": level},
    }


def facts(record):
    """What is known of the request that `record` belongs to: its number, person, tablet and address by name."""
    found = answering.get()
    if found is None:
        return {}
    known = {"request": found.number, "person": found.person, "tablet": found.tablet, "route": found.route}
    known |= {name: getattr(record, name, None) for name in OF_A_REQUEST}
    return {name: value for name, value in known.items() if value not in (None, "")}


def moment(record):
    return dt.datetime.fromtimestamp(record.created, dt.UTC).isoformat(timespec="milliseconds")


class Json(logging.Formatter):
    """One object a line: time, level, logger, message, facts of the request, and what broke with its way there."""

    def format(self, record):
        line = {
            "time": moment(record),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            **facts(record),
        }
        if record.exc_info:
            line["error"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False, default=str)


class Words(logging.Formatter):
    """The same for a person to read: time, level, logger, message, then the facts in brackets."""

    def format(self, record):
        known = " ".join(f"{name} {value}" for name, value in facts(record).items())
        line = f"{moment(record)} {record.levelname} {record.name}: {record.getMessage()}"
        line += f" [{known}]" if known else ""
        return line + (f"\n{self.formatException(record.exc_info)}" if record.exc_info else "")
