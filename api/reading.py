"""Reading a request: strict JSON, plain queries, and the version that a change is meant for."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from flask import request
from werkzeug.exceptions import UnsupportedMediaType

from api.bodies import Body, number_in
from themekit.errors import Problem, ThemekitError

_ALLOWED = "one JSON value in UTF-8 (RFC 8259), without NaN, Infinity or a field named twice"


class Unreadable(ThemekitError, ValueError):
    """A body that is no JSON."""

    code = "unreadable"


class NotMultipart(ThemekitError, ValueError):
    """A body that holds no form."""

    code = "not_multipart"

    @classmethod
    def of(cls, mimetype: str) -> NotMultipart:
        """The error for a body of that media type."""
        allowed = "a form with the header Content-Type: multipart/form-data"
        problem = Problem("Content-Type", mimetype[:200] or None, allowed, "Send the file as a form does.")
        return cls("The body has to be a form.", [problem])


def json_body() -> Any:
    """The request's JSON. Raises `Unreadable`, or 415 for another media type."""
    if not request.is_json:
        raise UnsupportedMediaType
    return read_json(request.get_data())


def read_json(data: bytes) -> Any:
    """The value of strict JSON: NaN, Infinity and repeated fields are refused with the rest."""
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=_constant, object_pairs_hook=_object)
    except UnicodeDecodeError as error:
        _refuse(f"bytes that are not UTF-8, from byte {error.start + 1}")
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        _refuse(f"something else at {place}" if data.strip() else "nothing")
    except RecursionError:
        _refuse("lists or objects nested too deeply")
    except Unreadable:
        raise
    except ValueError:
        # Python refuses whole numbers of more than some thousand digits.
        _refuse("a number of thousands of digits")


def _refuse(got: str) -> NoReturn:
    hint = "Send valid JSON; a value that is not known is null."
    raise Unreadable("The body could not be read as JSON.", [Problem("body", got, _ALLOWED, hint)])


def _constant(name: str) -> NoReturn:
    _refuse(name)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        _refuse(f"the field {twice[:60]} twice")
    return found


def query() -> dict[str, Any]:
    """The query's fields, whole numbers as numbers; one that is repeated becomes a list."""
    found: dict[str, Any] = {}
    for name, values in request.args.lists():
        found[name] = number_in(values[0]) if len(values) == 1 else values
    return found


def query_text(asked: Body, field: str, required: bool = False) -> str | None:
    """A text of the query; one that is there but blank is a problem."""
    given = asked.raw.get(field)
    text = given if given is None or isinstance(given, list) else str(given)
    return asked.checks.text(field, text, required=required or field in asked.raw)


def wanted_version() -> int | None:
    """The version that If-Match names; None where any will do, 0 (which no row has) for others."""
    if "If-Match" not in request.headers or request.if_match.star_tag:
        return None
    tags = request.if_match.as_set()
    numbers = [int(tag) for tag in tags if tag and tag.isascii() and tag.isdigit() and len(tag) < 10]
    return numbers[0] if len(numbers) == 1 else 0
