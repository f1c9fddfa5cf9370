"""What the commands answer: as JSON the service's own answers, for people plain text."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.commands import idle, telling
from api.commands.paper import Paper
from catalog.store import Store

OWN = ["#1d8a8a", "#d9a93b", "#ffffff"]


@pytest.fixture
def today_client(store: Store) -> FlaskClient:
    """The service over the same shelf, with the same day as the command line: today."""
    return create_app(store).test_client()


def _jar(store: Store, number: int) -> dict[str, Any]:
    return store.list(store.shelf_named().id, "jars")[0][number]


def dosed(dose: dict[str, Any]) -> str:
    """A dose as it is told; what no kitchen scale weighs is a trace."""
    grams = f"{dose['g_per_100g']:.3g} g"
    return f"a trace of {dose['gel']} ({grams})" if dose["g_per_100g"] < 0.02 else f"{grams} {dose['gel']}"


@pytest.mark.parametrize(
    ("arguments", "path", "body"),
    [
        ("ideas owl party", "ideas", {"theme": "owl party"}),
        (
            "ideas owls --kits 3 --count 2 --cookies 6 --serve mixed",
            "ideas",
            {"theme": "owls", "kits": 3, "count": 2, "cookies": 6, "serve": "mixed"},
        ),
        (
            "ideas owl --avoid nuts,sesame --avoid egg --avoid-additive E171 --age 5 --in-stock --count 1",
            "ideas",
            {
                "theme": "owl",
                "count": 1,
                "needs": {
                    "avoid_allergens": ["nuts", "sesame", "egg"],
                    "avoid_additives": ["E171"],
                    "youngest_age": 5,
                    "in_stock_only": True,
                },
            },
        ),
        (
            "palettes owl --include f29ab5 --without #d7263d --count 2",
            "palettes",
            {
                "theme": "owl",
                "count": 2,
                "needs": {"include_colours": ["f29ab5"], "avoid_colours": ["#d7263d"]},
            },
        ),
        ("palettes pirates --diet vegetarian", "palettes", {"theme": "pirates", "needs": {"diet": "vegetarian"}}),
        ("trios owl party --kits 2", "trios", {"theme": "owl party", "kits": 2}),
        ("trios --palette #1d8a8a d9a93b fff", "trios", {"palette": OWN}),
        ("theme Owls in teal for 6 kits, no milk", "themes/read", {"text": "Owls in teal for 6 kits, no milk"}),
        ("theme qzx vrrk", "themes/read", {"text": "qzx vrrk"}),
        ("idle --days 120 --count 6", "jars/idle?days=120&count=6", None),
        ("idle", "jars/idle", None),
    ],
)
def test_json_is_the_services_answer(themekit, today_client, arguments, path, body) -> None:
    """To the byte, for the same body."""
    asked = today_client.get if body is None else today_client.post
    sent = {} if body is None else {"json": body}
    answer = asked(f"/api/v1/{path}", **sent)
    assert answer.status_code == 200
    done = themekit(*arguments.split(), "--json")
    assert (done.code, done.err) == (0, "")
    assert done.out == answer.get_data(as_text=True) + "\n"


def test_jars_may_be_named(themekit, today_client, store) -> None:
    """By name in any case, or by id."""
    use, skip = _jar(store, 3), _jar(store, 8)
    body = {"theme": "owl", "count": 1, "needs": {"use_jars": [use["id"]], "skip_jars": [skip["id"]]}}
    answer = today_client.post("/api/v1/ideas", json=body).get_data(as_text=True)
    named = ("--use", f" {use['name'].upper()} ", "--skip", skip["name"])
    for chosen in (named, ("--use", use["id"], "--skip", skip["id"])):
        assert themekit("ideas", "owl", "--count", 1, *chosen, "--json").out == answer + "\n"
    told = " ".join(themekit("ideas", "owl", "--count", 1, *named).out.split())
    assert f"Needs kept: use {use['name']}; skip {skip['name']}." in told


def test_an_idea_is_told_whole(themekit, monkeypatch) -> None:
    """Tints with grams per 100 g, three cups with grams, cutters with cookies, on about a screen."""
    answer = json.loads(themekit("ideas", "owl party", "--json").out)
    monkeypatch.setenv("COLUMNS", "100")
    done = themekit("ideas", "owl party", "--full")
    assert (done.code, done.err) == (0, "")
    assert all(len(line) <= 100 for line in done.out.splitlines())
    # A colon ends a heading, so the first piece is what leads.
    _, *told = re.split(r"^Idea \d+: ", done.out.split("\nTake care")[0], flags=re.MULTILINE)
    assert len(told) == len(answer["ideas"])
    for idea, text in zip(answer["ideas"], told, strict=True):
        assert len(text.rstrip().splitlines()) <= 32
        flat = " ".join(text.split())
        for tint in idea["palette"]["tints"]:
            assert f"{tint['name']}: " in flat
            assert tint["hex"] in flat
            for dose in tint["recipe"]:
                assert dosed(dose) in flat
        for jar in idea["trio"]["jars"]:
            assert f"{jar['name']}: {jar['grams_per_kit']:.3g} g" in flat
        for cutter in idea["cutters"]:
            assert f"{cutter['cookies']} {cutter['name']}" in flat
        for reason in idea["reasons"]:  # the cutters' too
            assert " ".join(reason.split()) in flat
    everything = " ".join(done.out.split())
    for idea in answer["ideas"]:
        for caution in idea["cautions"]:
            assert " ".join(caution.split()) in everything.replace(" ! ", " ")


def test_what_is_not_met_comes_first(themekit) -> None:
    """Before the theme, the ideas and every other caution, and only once."""
    out = themekit("ideas", "owl party", "--avoid", "milk").out
    assert out.splitlines()[1].startswith("NOT MET: The dough contains milk")
    assert out.count("The dough contains milk") == 1
    for command in ("palettes", "trios"):
        assert themekit(command, "owl", "--avoid", "milk").out.splitlines()[1].startswith("NOT MET: The dough")


def test_scores_are_words_unless_asked_for(themekit) -> None:
    """One short line says how well it suits; --scores adds every part."""
    assert "How well it suits: icing " in themekit("ideas", "owl", "--count", 1, "--full").out
    for command, name in (("ideas", "Idea"), ("palettes", "Icing"), ("trios", "Toppings")):
        scored = re.compile(rf"^  {name} \d\.\d\d: \w+ \d\.\d\d", re.MULTILINE)
        assert not scored.search(themekit(command, "owl").out)
        assert scored.search(themekit(command, "owl", "--scores").out)


def test_a_blend_is_told_by_share(themekit) -> None:
    """Mixed toppings have shares of the volume and one colour together."""
    answer = json.loads(themekit("trios", "owl", "--serve", "mixed", "--count", 1, "--kits", 4, "--json").out)
    told = " ".join(themekit("trios", "owl", "--serve", "mixed", "--count", 1, "--kits", 4).out.split())
    (trio,) = answer["trios"]
    assert "One blend" in told
    assert f"together about {trio['blend']['name']} {trio['blend']['hex']}" in told
    for jar in trio["jars"]:
        share, grams = round(100 * jar["share"]), jar["grams_per_kit"]
        assert f"{jar['name']}: {share} % of the volume, {grams:.3g} g ({4 * grams:.3g} g for 4 kits)" in told


def test_a_phrase_is_told_with_its_words(themekit) -> None:
    """What was understood, from what, how surely, and what was not."""
    told = themekit("theme", "Owls", "in", "teal", "for 6 kits,", "no milk, qzx").out
    assert "“teal” as the colour teal, by name" in told
    assert "“owls” as the thing owl, by name" in told
    assert "Not understood: “qzx”." in told
    assert "Needs: no milk." in told
    assert "kits: 6" in told
    lost = themekit("theme", "qzx", "vrrk")
    assert lost.code == 0
    assert lost.out.startswith("Nothing was understood.")
    assert "Name two or three colours" in lost.out


def test_idle_jars_are_told_with_why_and_use(themekit) -> None:
    """Each with its reason, what is at risk and, where it may be used, how."""
    items = json.loads(themekit("idle", "--count", 8, "--json").out)["items"]
    told = " ".join(themekit("idle", "--count", 8).out.split())
    for number, jar in enumerate(items, start=1):
        assert f"{number}. {jar['name']}" in told
        assert f"Why: {'; '.join(jar['why'])}." in told
    assert told.count("Best use:") == sum(len(jar["uses"]) for jar in items) > 0


def test_a_guess_is_told_as_one() -> None:
    """What only the meaning of a word led to is never passed off as known."""
    understood = [
        {"words": "moon", "as": "theme", "name": "moon and stars", "how": "by another name", "sureness": 1.0},
        {"words": "landing", "as": "theme", "name": "pony", "how": "by meaning", "sureness": 0.46},
        {"words": "moon", "as": "thing", "name": "moon", "how": "by name", "sureness": 1.0},
        {"words": "no nuts", "as": "need", "name": "peanut", "how": "avoid_allergens", "sureness": 1.0},
    ]
    theme = {"understood": understood, "sureness": 0.73, "fallback": False}
    answer = {"unmet": [], "theme": theme, "needs": {"applied": []}, "ruled_out": {}, "notes": []}
    assert telling.opening(answer, {}, Paper(200)) == [
        "Understood: “moon” as moon and stars.",
        "A guess: “landing” perhaps as pony, by its meaning.",
    ]


def test_a_mended_word_is_told_as_a_guess(themekit) -> None:
    """One letter off may be a slip, or a word that is not known: never told as understood."""
    told = " ".join(themekit("ideas", "owl and a piratte", "--count", 1).out.split())
    sure, guess = told.split("A guess: ")
    assert "Understood: “owl”" in sure
    assert "pirat" not in sure
    assert guess.startswith("“piratte” perhaps as pirate")
    assert "if it is a slip of one letter" in guess


def test_cautions_of_all_are_told_once(themekit) -> None:
    """Below the ideas, which so stand on the first screen; how many there are is told above."""
    for full, title in (((), "With every idea:"), (("--full",), "Take care with every idea:")):
        several = themekit("ideas", "owl", "--count", 3, *full).out
        assert several.count("Made in a home kitchen") == 1
        ideas, mind = several.split(f"\n{title}")
        assert "Idea 3" in ideas
        assert "Made in a home kitchen" in mind
        assert next(at for at, line in enumerate(several.splitlines()) if line.startswith("Idea 1")) < 12
        above = " ".join(several[: several.index("Idea 1")].split())
        assert f"{mind.count(chr(10) + '  ! ')} cautions below the ideas" in above
    assert "\nTake care:\n" in themekit("ideas", "owl", "--count", 1, "--full").out


@pytest.mark.parametrize("columns", [48, 80, 100])
def test_an_idea_in_short_is_enough_to_decide(themekit, monkeypatch, columns) -> None:
    """All that goes into the kit and every caution, in few lines of the terminal's width; nothing twice."""
    answer = json.loads(themekit("ideas", "owl party", "--kits", 3, "--json").out)
    monkeypatch.setenv("COLUMNS", str(columns))
    out = themekit("ideas", "owl party", "--kits", 3).out
    assert all(len(line) <= columns for line in out.splitlines())
    assert "CIEDE2000" not in out
    _, *told = re.split(r"^Idea \d+: ", out.split("\nWith every idea")[0], flags=re.MULTILINE)
    assert len(told) == len(answer["ideas"])
    everything = " ".join(out.split())
    for idea, text in zip(answer["ideas"], told, strict=True):
        assert len(text.rstrip().splitlines()) <= {48: 40, 80: 21, 100: 19}[columns]
        flat = " ".join(text.split())
        for tint in idea["palette"]["tints"]:
            assert all(dosed(dose) in flat for dose in tint["recipe"])
        for jar in idea["trio"]["jars"]:
            assert (
                f"{jar['name']}: {jar['grams_per_kit']:.3g} g ({3 * jar['grams_per_kit']:.3g} g for 3 kits)"
                in flat
            )
        assert all(f"{cutter['cookies']} {cutter['name']}" in flat for cutter in idea["cutters"])
        assert f"About {idea['makes_kits']} kits" in flat or "Not enough for one kit" in flat
        assert len(idea["in_short"]["cautions"]) == len(idea["cautions"])
        for caution in idea["in_short"]["cautions"]:
            assert " ".join(caution.split()) in everything
        sentences = re.split(r"(?<=\.) ", flat)
        assert len(sentences) == len(set(sentences))


def test_what_was_left_out_is_told_plainly(themekit) -> None:
    """No key of ours among the words."""
    told = " ".join(themekit("ideas", "owl party, no nuts, no jimmies", "--count", 1).out.split())
    assert "jars that hold or may hold peanut (" in told
    assert " that you did not want" in told
    assert "skip jars" not in told
    assert "for “" not in told.split("Left out:")[1].split("Idea 1")[0]
    assert "no peanut and no tree nut (“no nuts”)" in told


def test_idle_jars_are_told_in_short_unless_asked_for_in_full(themekit) -> None:
    """The best use of each; further ones with --full."""
    answer = json.loads(themekit("idle", "--json").out)
    jar = next(one for one in answer["items"] if one["uses"])
    answer = {**answer, "items": [{**jar, "uses": jar["uses"][:1] * 3}]}
    short = "\n".join(idle.lines(answer, "demo", Paper(80)))
    assert ("Best use:" in short, "Soon also:" in short, "add --full" in short) == (True, False, True)
    full = "\n".join(idle.lines(answer, "demo", Paper(80), full=True))
    assert (full.count("Soon also:"), "add --full" in full) == (2, False)
