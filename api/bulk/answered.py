"""The file of answers: one JSON line each, only ever added to, each on the disk before it counts.

A line begins {"request": number, "hash": …}. A run that was cut short leaves at most a torn last
line, which the next run takes away and asks again.
"""

from __future__ import annotations

import fcntl
import json
import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, BinaryIO

from api.answers import to_json
from api.bulk.asked import Request
from themekit.errors import InvalidValue, Problem

_HEAD = re.compile(rb'\{"request":(\d{1,12}),"hash":"([0-9a-f]{64})",')


def line_of(request: Request, told: dict[str, Any]) -> bytes:
    """An answer, or a refusal, as a line of the file."""
    body = {"request": request.number, "hash": request.hash, "shelf": request.shelf, **told}
    return to_json(body).encode("utf-8") + b"\n"


class AnswerFile:
    """Answers kept so far; `done` has the numbers of the requests that they belong to.

    Raises `InvalidValue` for a file that another run holds or that answers other requests.
    """

    def __init__(self, path: str | Path, requests: Sequence[Request]) -> None:
        self._path = Path(path)
        try:
            self._file: BinaryIO = open(self._path, "a+b", buffering=0)  # noqa: SIM115
            try:
                fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                self.done = self._recovered({r.number: r.hash for r in requests})
                _sync_folder(self._path.parent)
            except BaseException:
                self._file.close()
                raise
        except BlockingIOError as error:
            message, hint = "Another run is writing these answers.", "Wait for it, or name another file by --to."
            raise self._unusable(message, "a file that no run holds", hint) from error
        except OSError as error:
            message, hint = "The answers cannot be kept there.", "Name another place by --to."
            raise self._unusable(message, "a file that can be written", hint) from error

    def __enter__(self) -> AnswerFile:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def add(self, numbers: Iterable[int], lines: Sequence[bytes]) -> None:
        """Keep answers; on return they are on the disk. All of them are kept, or none."""
        size = self._file.seek(0, os.SEEK_END)
        whole = memoryview(b"".join(lines))
        try:
            while whole:
                whole = whole[self._file.write(whole) :]
            os.fsync(self._file.fileno())
        except OSError as error:
            self._file.truncate(size)
            hint = "Make room and run the same command again; it goes on where it stopped."
            raise self._unusable("There is no room for the answers.", "free space on the disk", hint) from error
        self.done |= set(numbers)

    def _recovered(self, asked: dict[int, str]) -> set[int]:
        """The numbers already answered; what a stop in mid-line left is taken away."""
        self._file.seek(0)
        done: set[int] = set()
        good = 0
        with open(self._path, "rb") as lines:
            for count, line in enumerate(lines, start=1):
                if not line.endswith(b"\n"):
                    break
                head = _HEAD.match(line)
                number = int(head[1]) if head else 0
                if head is None or asked.get(number) != head[2].decode() or number in done:
                    hint = "Name another file by --to, or give the requests that these answers belong to."
                    got = line[:60].decode("utf-8", "replace")
                    problem = Problem(f"{self._path}, line {count}", got, "an answer to one of the requests", hint)
                    raise InvalidValue("This file holds other answers; nothing was asked.", [problem])
                if not _is_json(line):
                    break
                done.add(number)
                good += len(line)
        if good < self._path.stat().st_size:
            self._file.truncate(good)
            os.fsync(self._file.fileno())
        return done

    def _unusable(self, message: str, allowed: str, hint: str) -> InvalidValue:
        return InvalidValue(message, [Problem("to", str(self._path), allowed, hint)])


def _is_json(line: bytes) -> bool:
    try:
        json.loads(line)
    except ValueError:
        return False
    return True


def _sync_folder(folder: Path) -> None:
    """Have the folder remember a file that was made just now."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
