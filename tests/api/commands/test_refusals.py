"""What a command refuses: exit code 2, and the same facts as the service's error."""

from __future__ import annotations

import json

import click
import pytest

from api.commands.main import COMMANDS, run
from api.commands.main import themekit as group


@pytest.mark.parametrize(
    ("arguments", "path", "body"),
    [
        (
            ["ideas", "owl", "--kits", "abc", "--count", "0", "--age", "-1", "--avoid", "foo", "--include", "zz"],
            "ideas",
            {
                "theme": "owl",
                "kits": "abc",
                "count": 0,
                "needs": {"youngest_age": "-1", "avoid_allergens": ["foo"], "include_colours": ["zz"]},
            },
        ),
        (["ideas", "qzx vrrk"], "ideas", {"theme": "qzx vrrk"}),
        (["ideas"], "ideas", {}),
        (["ideas", "x" * 3000], "ideas", {"theme": "x" * 3000}),
        (["ideas", "owl", "--kits", "9" * 400], "ideas", {"theme": "owl", "kits": "9" * 400}),
        (["palettes", "owl", "--diet", "keto"], "palettes", {"theme": "owl", "needs": {"diet": "keto"}}),
        (["trios"], "trios", {}),
        (["trios", "owl", "--palette", "a", "b", "c"], "trios", {"theme": "owl", "palette": ["a", "b", "c"]}),
        (
            ["trios", "owl", "--use", "1", "--skip", "1"],
            "trios",
            {"theme": "owl", "needs": {"use_jars": [1], "skip_jars": [1]}},
        ),
        (["theme", "owl\x07"], "themes/read", {"text": "owl\x07"}),
    ],
)
def test_the_services_error_is_told(themekit, client, refused, arguments, path, body) -> None:
    """As JSON to the byte, and on stderr every field with what is allowed."""
    answer = client.post(f"/api/v1/{path}", json=body)
    problems = refused(answer, 422, answer.get_json()["error"]["code"])
    done = themekit(*arguments, "--json")
    assert done.code == 2
    assert done.out == answer.get_data(as_text=True) + "\n"
    plain = themekit(*arguments)
    assert (plain.code, plain.out) == (2, "")
    told = " ".join(plain.err.split())
    assert answer.get_json()["error"]["message"] in told
    for problem in problems:
        assert problem["field"] in told
        assert " ".join(problem["allowed"].split()) in told
        assert problem["hint"] is None or " ".join(problem["hint"].split()) in told


def test_a_jar_that_is_not_found_is_told_with_everything_else(themekit, store) -> None:
    """With the nearest names, beside the other problems."""
    jar = store.list(store.shelf_named().id, "jars")[0][0]["name"]
    done = themekit("ideas", "owl", "--use", jar[:-1], "--skip", "qqqq", "--kits", "0", "--json")
    error = json.loads(done.out)["error"]
    problems = {p["field"]: p for p in error["problems"]}
    assert set(problems) == {"needs.use_jars.0", "needs.skip_jars.0", "kits"}
    assert f"“{jar}”" in problems["needs.use_jars.0"]["hint"]
    assert problems["needs.skip_jars.0"]["allowed"] == "the name or id of a jar on this shelf"


@pytest.mark.parametrize(
    ("arguments", "got", "told"),
    [
        (["ideas", "owl", "--kitz", "3"], "--kitz", "Did you mean --kits"),
        (["idea", "owl"], "idea", "one of the commands ideas, palettes"),
        (["ideas", "owl", "--shelf"], "--shelf", "a value after the option"),
        (["import"], None, "See themekit import --help."),
        (["export", "a", "b"], None, "See themekit export --help."),
    ],
)
def test_a_command_line_that_is_none(themekit, arguments, got, told) -> None:
    """Told in the same shape, with what there is."""
    command, *rest = arguments
    done = themekit(command, "--json", *rest)
    assert done.code == 2
    (problem,) = json.loads(done.out)["error"]["problems"]
    assert problem["field"] == "command line"
    assert problem["got"] == got
    assert told in f"{problem['allowed']} {problem['hint']}"
    assert told in " ".join(themekit(*arguments).err.split())


def test_a_database_that_cannot_be_used(themekit, tmp_path) -> None:
    """Not an address, or not a database."""
    other = tmp_path / "other.db"
    other.write_text("not a database, only some text that is longer than a header\n" * 20)
    for url, message in (("/tmp/x", "could not be read"), (f"sqlite:///{other}", "is not a database")):
        done = themekit("ideas", "owl", "--database", url)
        assert done.code == 2
        assert message in done.err
        assert "--database (database): got" in done.err


@pytest.mark.parametrize(
    ("arguments", "fields"),
    [
        (["--host", "0.0.0.0"], ["passphrase"]),
        (["--host", "192.168.0.2"], ["passphrase"]),
        (["--proxied"], ["passphrase"]),
        (["--host", "bakery"], ["host"]),
        (["--host", "bakery", "--port", "65536"], ["host", "port"]),
        (["--port", "-1"], ["port"]),
        (["--port", "http"], ["port"]),
    ],
)
def test_nothing_is_served_where_it_should_not_be(themekit, arguments, fields) -> None:
    """In the network not without a passphrase, and then it is told how to set one."""
    done = themekit("serve", *arguments, "--json")
    assert done.code == 2
    problems = json.loads(done.out)["error"]["problems"]
    assert [p["field"] for p in problems] == fields
    told = " ".join(done.out.split())
    assert ("themekit passphrase" in told and "THEMEKIT_PASSPHRASE" in told) == ("passphrase" in fields)


def test_every_command_has_its_help(capsys) -> None:
    """With every option explained."""
    assert run(["--help"]) == 0
    overview = capsys.readouterr().out
    for name in COMMANDS:
        command = group.get_command(click.Context(group), name)
        assert command is not None
        assert command.name == name
        assert command.short_help in overview
        assert run([name, "--help"]) == 0
        shown = capsys.readouterr().out
        steps = command.commands if isinstance(command, click.Group) else {"": command}
        for step, each in steps.items():
            assert each.short_help in overview + shown
            for parameter in each.params:
                assert isinstance(parameter, click.Argument) or parameter.help
            assert {"--shelf", "--database", "--json"} <= {o for p in each.params for o in p.opts}
            assert run([word for word in (name, step, "--help") if word]) == 0
            assert "--shelf NAME" in capsys.readouterr().out


def test_no_command_shows_the_help(capsys) -> None:
    """On stderr, since nothing was asked."""
    assert run([]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "Commands:" in shown.err
