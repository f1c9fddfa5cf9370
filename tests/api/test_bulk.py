"""The parts of a bulk run: requests read, answers kept once, handfuls answered."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from api import questions
from api.bulk import answered, running
from api.bulk.answered import AnswerFile, line_of
from api.bulk.asked import Request, content_hash, read_requests
from api.bulk.running import cluster, handfuls
from api.bulk.working import Done, answer_some, store_at
from api.commands import bulk
from catalog.errors import StoreUnusable
from catalog.store import Store
from themekit.errors import InvalidValue

TODAY = date(2026, 11, 25)


def requests_of(*bodies: tuple[str, dict[str, Any]]) -> list[Request]:
    return [Request(n, shelf, body, content_hash(shelf, body)) for n, (shelf, body) in enumerate(bodies, start=1)]


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, str], Path]:
    """A file of that name with that text."""

    def made(name: str, text: str) -> Path:
        (tmp_path / name).write_bytes(text.encode("utf-8"))
        return tmp_path / name

    return made


def test_json_lines_and_csv_ask_the_same(write: Callable[[str, str], Path]) -> None:
    """Numbers, lists and needs too; blank lines and a byte order mark don't count."""
    lines = write(
        "asked.jsonl",
        '\ufeff{"theme": "owl party, \u2028 teal", "shelf": "home", "kits": 4,\t'
        '"needs": {"avoid_allergens": ["milk", "egg"], "use_jars": [3], "in_stock_only": true}}\r\n\n'
        '{"shelf": "other", "theme": "pirates", "count": null}\n',
    )
    sheet = write(
        "asked.csv",
        "shelf,theme,kits,needs.avoid_allergens,needs.use_jars,needs.in_stock_only\n"
        'home,"owl party, \u2028 teal",4,milk | egg,3,yes\n,,,,,\nother,pirates,,,,\n',
    )
    one, two = read_requests(lines), read_requests(sheet)
    assert one == two
    assert [(r.number, r.shelf) for r in one] == [(1, "home"), (2, "other")]
    assert one[0].body["needs"] == {"avoid_allergens": ["milk", "egg"], "use_jars": [3], "in_stock_only": True}
    assert one[1].body == {"theme": "pirates"}
    (usual,) = read_requests(write("b.jsonl", '{"theme": "owl"}'), "mine")
    assert usual.shelf == "mine"
    assert one[0].hash != one[1].hash


@pytest.mark.parametrize(
    ("name", "text", "fields"),
    [
        (
            "a.jsonl",
            '{"shelf": "x", "theme": "owl"}\n[1]\n{"shelf": "x"}\n'
            '{"shelf": " ", "theme": "o", "colour": 1}\n{"a"\n',
            ["line 2", "line 3, theme", "line 4, colour", "line 4, shelf", "line 5"],
        ),
        ("a.csv", "shelf,theme,colour,shelf\n", ["columns", "columns.colour"]),
        ("a.csv", "shelf,theme\nx,owl,more\nx,\n", ["line 2", "line 3, theme"]),
        ("a.jsonl", "\n", ["path"]),
    ],
)
def test_every_fault_is_told_at_once(
    write: Callable[[str, str], Path], name: str, text: str, fields: list[str]
) -> None:
    """By line, before anything is asked."""
    with pytest.raises(InvalidValue) as refused:
        read_requests(write(name, text))
    assert sorted(p.field for p in refused.value.problems) == fields


ASKED = requests_of(*(("home", {"theme": f"owl {n}"}) for n in range(1, 6)))
LINES = [line_of(request, {"answer": {"ideas": [request.number]}}) for request in ASKED]


def test_a_torn_last_line_is_taken_away(tmp_path: Path) -> None:
    """Wherever it is torn, and also where its end is there but not its middle."""
    path, whole = tmp_path / "answers.jsonl", b"".join(LINES[:2])
    torn = [LINES[2][:cut] for cut in range(1, len(LINES[2]))] + [LINES[2][:90] + b"\0\0\0\n"]
    for end in torn:
        path.write_bytes(whole + end)
        with AnswerFile(path, ASKED) as answers:
            assert answers.done == {1, 2}
            answers.add([3], [LINES[2]])
        assert path.read_bytes() == whole + LINES[2]


def test_answers_of_other_requests_are_left_alone(tmp_path: Path) -> None:
    """Another question, a number twice, or no answers at all."""
    path = tmp_path / "answers.jsonl"
    other = line_of(requests_of(("home", {"theme": "else"}))[0], {"answer": {}})
    for text in (other, LINES[0] + LINES[0], b"my shopping list\n"):
        path.write_bytes(text)
        with pytest.raises(InvalidValue, match="other answers"):
            AnswerFile(path, ASKED)
        assert path.read_bytes() == text


def test_two_runs_do_not_write_one_file(tmp_path: Path) -> None:
    """The second is told."""
    with AnswerFile(tmp_path / "a", ASKED), pytest.raises(InvalidValue, match="Another run"):
        AnswerFile(tmp_path / "a", ASKED)


def test_a_full_disk_keeps_all_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was written of a handful that did not fit is taken back."""
    path = tmp_path / "a"
    with AnswerFile(path, ASKED) as answers:
        answers.add([1], LINES[:1])

        def full(_: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(answered.os, "fsync", full)
        with pytest.raises(InvalidValue, match="no room"):
            answers.add([2, 3], LINES[1:3])
        monkeypatch.undo()
        assert path.read_bytes() == LINES[0]
        answers.add([2], LINES[1:2])
    assert path.read_bytes() == LINES[0] + LINES[1]


def test_what_is_added_is_on_the_disk_before_it_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last thing before a number is done is the wait for the disk."""
    seen = []
    with AnswerFile(tmp_path / "a", ASKED) as answers:
        real = os.fsync
        monkeypatch.setattr(
            answered.os, "fsync", lambda f: seen.append((os.fstat(f).st_size, set(answers.done))) or real(f)
        )
        answers.add([1], LINES[:1])
        assert seen == [(len(LINES[0]), set())]
        assert answers.done == {1}


def test_a_shelf_is_asked_about_at_one_go() -> None:
    """Handfuls go by shelf, and together are all the requests."""
    asked = requests_of(*((f"shelf {n % 3}", {"theme": "owl"}) for n in range(50)))
    found = list(handfuls(asked, 20))
    assert [len(some) for some in found] == [20, 20, 10]
    assert sorted(r.number for some in found for r in some) == list(range(1, 51))
    shelves = [r.shelf for some in found for r in some]
    assert shelves == sorted(shelves)


def test_answers_are_those_of_the_service_and_refusals_are_answers(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A request that breaks costs none of its neighbours; a database away costs all, to be tried again."""
    url = store.url.render_as_string()
    asked = requests_of(
        ("demo", {"theme": "owl party", "count": 2}),
        ("nobody's", {"theme": "owl party"}),
        ("demo", {"theme": "owl party", "count": 99}),
        ("demo", {"theme": "pirates", "count": 1}),
    )
    real = questions.ideas

    def ideas(at: Store, shelf: int, body: Any, today: date) -> Any:
        if body["theme"] == "pirates":
            raise ZeroDivisionError
        return real(at, shelf, body, today)

    monkeypatch.setattr(questions, "ideas", ideas)
    done = answer_some(url, TODAY, asked)
    assert (done.numbers, done.refused, done.failed) == ([1, 2, 3], 2, [(4, "ZeroDivisionError")])
    first, missing, wrong = (json.loads(line) for line in done.lines)
    shelf_id = store.shelf_named("demo").id
    assert first == {
        "request": 1,
        "hash": asked[0].hash,
        "shelf": "demo",
        "answer": json.loads(json.dumps(real(store, shelf_id, asked[0].body, TODAY))),
    }
    assert missing["error"]["code"] == "not_found"
    assert [p["field"] for p in wrong["error"]["problems"]] == ["count"]

    def away(*_: Any) -> None:
        raise StoreUnusable("The database does not answer.")

    monkeypatch.setattr(questions, "ideas", away)
    with pytest.raises(StoreUnusable):
        answer_some(url, TODAY, asked)
    store_at.cache_clear()


def test_a_scheduler_that_is_not_there_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """With how to start one."""
    monkeypatch.setattr(running, "_CONNECT_S", 1)
    with pytest.raises(InvalidValue, match="No scheduler answers") as refused, cluster("tcp://127.0.0.1:1", None):
        pass
    assert "dask scheduler" in refused.value.problems[0].hint


@pytest.mark.parametrize("count", ["none", "0", "257", "1.5"])
def test_a_number_of_workers_that_is_none_is_told(count: str, tmp_path: Path) -> None:
    """Before anything is read."""
    with pytest.raises(InvalidValue) as refused:
        bulk.run("no such file", str(tmp_path / "to"), None, count, None)
    assert [p.field for p in refused.value.problems] == ["workers"]
    assert list(tmp_path.iterdir()) == []


def test_a_cluster_without_workers_is_told() -> None:
    """After a while, instead of waiting without end."""

    class Empty:
        def wait_for_workers(self, n: int, timeout: float) -> None:
            raise TimeoutError

    with pytest.raises(InvalidValue, match="No worker has come") as refused:
        running._threads(Empty())
    assert "dask worker" in refused.value.problems[0].hint


def test_fewer_workers_get_fewer_handfuls_and_all_is_answered(tmp_path: Path) -> None:
    """A cluster that shrinks in mid-run; each handful goes out once, and each answer is kept once."""
    asked = requests_of(*(("home", {"theme": f"owl {n}"}) for n in range(40)))
    sent: list[list[Request]] = []

    class Future:
        def __init__(self, some: list[Request]) -> None:
            self.some = some

        def result(self) -> Done:
            return Done([r.number for r in self.some], [line_of(r, {"answer": {}}) for r in self.some], 0, [])

        def release(self) -> None:
            pass

    class Shrinking:
        def wait_for_workers(self, n: int, timeout: float) -> None:
            pass

        def scheduler_info(self, n_workers: int) -> dict[str, Any]:
            return {"workers": {str(n): {"nthreads": 1} for n in range(3 if len(sent) < 9 else 1)}}

        def submit(self, work: Any, url: Any, today: Any, some: list[Request], **_: Any) -> Future:
            sent.append(some)
            return Future(some)

    class Completed(list[Future]):
        def add(self, future: Future) -> None:
            self.append(future)

        def __iter__(self) -> Iterator[Future]:
            while self:
                yield self.pop(0)

    with pytest.MonkeyPatch.context() as patch, AnswerFile(tmp_path / "to", asked) as answers:
        patch.setattr("distributed.as_completed", Completed)
        counted: list[int] = []
        outcome = running.answer_all(Shrinking(), None, asked, answers, TODAY, counted.append, 2)
        assert answers.done == set(range(1, 41))
    assert (outcome.answered, sum(counted), len(sent)) == (40, 40, 20)
    assert (tmp_path / "to").read_bytes().count(b"\n") == 40
