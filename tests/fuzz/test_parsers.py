"""Every parser at what nobody should send: it is read, or refused in plain words within five seconds."""

from __future__ import annotations

import importlib.util
import io
import os
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from catalog.sheets import read_sheets
from themekit.errors import InvalidValue

ROOT = Path(__file__).parents[2]
_spec = importlib.util.spec_from_file_location("fuzz_entries", Path(__file__).with_name("entries.py"))
assert _spec is not None
assert _spec.loader is not None
entries: Any = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(entries)

_SECONDS = 5.0
#: What parsers stumble over: signs, numbers and marks that mean something to one of them.
_TOKENS = [
    b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b'"', b"'", b",", b";", b"\t", b"\r", b"\n", b"|", b"#", b"=1+1", b"-",
    b"1e999", b"NaN", b"99999999999999999999", b"-0", b"0.0000001", "½".encode(), "𝟏𝟐".encode(), "١٢".encode(),
    "\u202e".encode(), "ß".encode(), b"{", b"[", b"}", b"null", b"true", b"31.02.2026", b"2026-13-01", b"%s",
    b"../../x", b"<", b"&amp;",
]  # fmt: skip

_edit = st.tuples(
    st.sampled_from(["set", "cut", "put", "twice", "end"]), st.integers(0, 2**20), st.integers(0, 255),
    st.sampled_from(_TOKENS),
)  # fmt: skip


def changed(data: bytes, edits: list[tuple[str, int, int, bytes]]) -> bytes:
    """Good input after a few slips."""
    for how, place, value, token in edits:
        at = place % (len(data) + 1)
        if how == "set":
            data = data[:at] + bytes([value]) + data[at + 1 :]
        elif how == "cut":
            data = data[:at] + data[at + 1 + value :]
        elif how == "put":
            data = data[:at] + token + data[at:]
        elif how == "twice":
            data = data[:at] + data[at : at + value] * 2 + data[at + value :]
        else:
            data = data[:at]
    return data


@pytest.fixture(scope="module", autouse=True)
def _clear() -> Iterator[None]:
    yield
    entries.clear()


def check(name: str, data: bytes) -> None:
    begun = time.process_time()
    entries.enter(name, data)
    assert time.process_time() - begun < _SECONDS


def rounds(name: str, count: int) -> None:
    """Run one parser so many times, by a fixed seed."""
    good = entries.seeds(name)
    for one in good:
        entries.enter(name, one)
    inputs = st.one_of(
        st.builds(changed, st.sampled_from(good), st.lists(_edit, min_size=1, max_size=6)),
        st.builds(changed, st.sampled_from(good), st.lists(_edit, min_size=1, max_size=6)),
        st.binary(max_size=300),
        st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")),
    )

    @seed(20261125)
    @settings(max_examples=count, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(inputs)
    def run(data: bytes) -> None:
        check(name, data)

    run()


@pytest.mark.parametrize("name", sorted(entries.ENTRIES))
def test_what_is_sent_is_read_or_refused(name: str) -> None:
    rounds(name, 30)


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(entries.ENTRIES))
def test_what_is_sent_is_read_or_refused_two_thousand_times(name: str) -> None:
    rounds(name, 2_000)


@pytest.mark.parametrize("name", sorted(entries.ENTRIES))
def test_good_input_is_taken(name: str) -> None:
    """Else the slips would be made in what is refused anyway."""
    assert any(entries.enter(name, one) for one in entries.seeds(name))


@pytest.mark.parametrize("data", [b"", b"\n", b" \n,,\n", b'""\n', b",", b"\xef\xbb\xbf", b"\t\r\r"])
def test_a_sheet_with_nothing_in_it(tmp_path: Path, data: bytes) -> None:
    """Found by such slips: commas and marks without a word between them."""
    file = tmp_path / "jars.csv"
    file.write_bytes(data)
    with pytest.raises(InvalidValue):
        read_sheets(file, "jars")


@pytest.mark.parametrize("name", ["", ".", "./"])
def test_a_zip_with_a_file_of_no_name(name: str) -> None:
    """Found by fuzzing led by coverage: passed over as what is no sheet, beside one or alone."""
    for others in (["jars.csv"], []):
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as made:
            for one in (name, *others):
                made.writestr(zipfile.ZipInfo(one), "name,kind,colours\nblue,nonpareils,#223355\n")
        assert entries.enter("archive", packed.getvalue()) == bool(others)


@pytest.mark.long
@pytest.mark.parametrize("name", ["photo", "csv_sheet", "workbook", "workbook_inside", "archive"])
def test_fuzzing_led_by_coverage(name: str) -> None:
    """For a minute each in a program of its own, which ends itself at 512 MB or 5 s for one input."""
    pytest.importorskip("atheris")
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("fuzz.py")), name, "60"],
        capture_output=True, text=True, timeout=400, check=False, errors="replace",
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    print(done.stderr[-400:])
    assert done.returncode == 0, done.stderr[-6_000:]
    assert "DONE" in done.stderr
