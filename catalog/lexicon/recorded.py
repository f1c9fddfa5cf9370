"""Whether the files of the built-in knowledge are those that were installed.

An installer leaves a list of every file with its SHA-256 ("RECORD", Python packaging's
specification of recorded installed projects); nothing else has to be kept up to date.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

_HERE = Path(__file__).parent


def _files() -> Iterator[Path]:
    for path in sorted(_HERE.rglob("*")):
        if path.is_file() and path.suffix != ".py" and "__pycache__" not in path.parts:
            yield path


def digest() -> str:
    """One SHA-256 over the names and contents of all, in hex: the same wherever the same is built in."""
    whole = hashlib.sha256()
    for path in _files():
        name = path.relative_to(_HERE).as_posix()
        whole.update(f"{name}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    return whole.hexdigest()


def changed() -> list[str] | None:
    """Files that are missing or not as installed; None where no list says how they were."""
    try:
        listed = distribution("themekit").files or []
    except PackageNotFoundError:
        return None
    kept_as = {
        Path(str(entry.locate())).resolve(): entry.hash
        for entry in listed
        if entry.hash is not None and entry.parts[:2] == ("catalog", "lexicon") and entry.suffix != ".py"
    }
    if not any(path.is_relative_to(_HERE.resolve()) for path in kept_as):
        return None
    wrong = []
    for path, kept in kept_as.items():
        if not path.is_file() or kept.mode != "sha256" or _listed_form(path) != kept.value:
            wrong.append(path.name)
    return sorted(wrong)


def _listed_form(path: Path) -> str:
    """The SHA-256 of a file in the list's form: base64 for addresses, without padding."""
    return base64.urlsafe_b64encode(hashlib.sha256(path.read_bytes()).digest()).rstrip(b"=").decode()
