"""The log as JSON lines. What a person wrote, or is called, stays out of it unless that is asked for.

A line a request: its id, the shelf by its id, method, route pattern, status, milliseconds.
Errors come as kinds and places in the code, since their texts may quote what was sent.
"""

from __future__ import annotations

import logging
import sys
import traceback
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any, TextIO

import structlog

from themekit.errors import InvalidValue, Problem

#: How much is logged: what went wrong, also a line a request, also what was sent.
LEVELS = ("errors", "requests", "personal")
USUAL = "requests"
_MOST_FRAMES = 40
_HERE = Path(__file__).parents[2]

_CHAIN: list[Any] = [
    structlog.stdlib.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True, key="at"),
]
log: structlog.stdlib.BoundLogger = structlog.wrap_logger(
    logging.getLogger("themekit"),
    processors=[structlog.stdlib.filter_by_level, *_CHAIN, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
    wrapper_class=structlog.stdlib.BoundLogger,
)


def configure(level: str = USUAL, stream: TextIO | None = None) -> None:
    """Send this process's log to a stream, standard error by default. Raises `InvalidValue`."""
    check_level(level)
    personal = level == "personal"
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=[*_CHAIN, _of_others(personal)],
            processors=[
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                structlog.processors.JSONRenderer(ensure_ascii=False),
            ],
            # Else the sentence as it was meant, without what is filled in.
            use_get_message=personal,
        )
    )
    logging.basicConfig(handlers=[handler], level=logging.WARNING, force=True)
    logging.getLogger("themekit").setLevel(logging.WARNING if level == "errors" else logging.INFO)
    if personal:
        log.warning("personal log", told="This log holds what people send, names included. Keep it to yourself.")


def check_level(level: str) -> str:
    """The level, if it is one; raises `InvalidValue`."""
    if level not in LEVELS:
        allowed = "one of " + ", ".join(LEVELS)
        raise InvalidValue("There is no such log.", [Problem("log", level, allowed, f"Leave it out for {USUAL}.")])
    return level


def told(error: BaseException, personal: bool = False) -> dict[str, Any]:
    """An error for the log: its kinds, the outermost first, and where it came from; its text only if asked."""
    kinds, at = [], error
    while at is not None and len(kinds) < 10:
        kinds.append(type(at).__name__)
        at = at.__cause__ or (None if at.__suppress_context__ else at.__context__)
    frames = traceback.extract_tb(error.__traceback__)[-_MOST_FRAMES:]
    found: dict[str, Any] = {"error": kinds, "from": [f"{_short(f.filename)}:{f.lineno} {f.name}" for f in frames]}
    if personal:
        found["traceback"] = "".join(traceback.format_exception(error))
    return found


def _short(file: str) -> str:
    """A file of ours by its place in the project, another by its last two names."""
    path = Path(file)
    return str(path.relative_to(_HERE)) if path.is_relative_to(_HERE) else "/".join(path.parts[-2:])


def _of_others(personal: bool) -> structlog.typing.Processor:
    """Records of libraries: who, and their errors by kind and place."""

    def process(_: Any, __: str, event: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
        record: logging.LogRecord = event["_record"]
        event["logger"] = record.name
        event.pop("stack_info", None)
        raised = event.pop("exc_info", None)
        if isinstance(raised, tuple) and raised[1] is not None:
            event |= told(raised[1], personal)
        return event

    return process
