"""The table: nothing seen comes back, slips are told, every part can be swapped, two kits are told apart."""

from __future__ import annotations

import re
from html import unescape
from itertools import pairwise, permutations
from urllib.parse import parse_qs, quote, urlsplit

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from api.pages.kit_address import fields_of, laid_of
from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.suggest.weights import APART

KIT = "/kit?theme=owl+party&kits=6&serve=apart&t=1d8a8a&t=d9a93b&t=7b4a2b&j=1&j=2&j=4&c=1:4&c=2:4"
WORDS = {"teal": (52.0, -30.0, -8.0)}


def page_of(client: FlaskClient, address: str, status: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == status, address
    return answer.get_data(as_text=True)


def links(page: str, ident: str) -> list[str]:
    """Where the swaps, holds and other links of such an id lead."""
    return [unescape(x) for x in re.findall(rf'id="{ident}[^"]*"[^>]* href="(/kit\?[^"]+)"', page)]


def kit_of(address: str) -> dict[str, list[str]]:
    return parse_qs(urlsplit(address).query)


def test_changing_never_swings_back(client: FlaskClient) -> None:
    """Each palette lies apart from every one before, each trio shares no jar but the held one."""
    address = KIT + "&hold=j0&hold=c0"
    seen = [kit_of(address)]
    for _ in range(6):
        address = client.get(address + "&fresh=1").headers["Location"]
        seen.append(kit_of(address))
    for one, later in ((a, b) for n, a in enumerate(seen) for b in seen[n + 1 :]):
        assert (one["t"], one["j"], one["c"]) != (later["t"], later["j"], later["c"])
        if set(one["j"]) != set(later["j"]):
            assert set(one["j"]) & set(later["j"]) == {"1"}
        if one["t"] != later["t"]:
            first, second = (hex_to_lab([f"#{t}" for t in k["t"]]) for k in (one, later))
            pairs = delta_e_2000(first[:, None, :], second[None, :, :])
            assert (
                min(pairs[range(3), order].mean() for order in permutations(range(3))) >= APART - 0.1
            )  # colours in an address are rounded
    assert all(k["j"][0] == "1" and k["c"][0] == "1:4" for k in seen), "what is held stays in its place"


def test_after_forty_kits_she_may_begin_again(client: FlaskClient) -> None:
    many = "".join(f"&s={n:06x}d9a93b7b4a2b-1.2.4-1.2" for n in range(40))
    page = page_of(client, KIT + many + "&fresh=1")
    assert "You have seen them all" in page
    again = unescape(re.search(r'href="(/kit\?[^"]+)">begin again', page)[1])  # type: ignore[index]
    assert "&s=" not in again
    assert client.get(again).status_code == 303


def test_with_everything_held_there_is_nothing_else(client: FlaskClient) -> None:
    held = "".join(f"&hold={p}" for p in ("t0", "t1", "t2", "j0", "j1", "j2", "c0", "c1"))
    assert "You have seen them all" in page_of(client, KIT + held + "&fresh=1")


def test_only_the_cutters_change_where_all_else_is_held(client: FlaskClient) -> None:
    held = "".join(f"&hold={p}" for p in ("t0", "t1", "t2", "j0", "j1", "j2"))
    address, sets = KIT + held, {("1", "2")}
    while (answer := client.get(address + "&fresh=1")).status_code == 303:
        address = answer.headers["Location"]
        kit = kit_of(address)
        assert (kit["t"], kit["j"]) == (["1d8a8a", "d9a93b", "7b4a2b"], ["1", "2", "4"])
        cutters = tuple(sorted(c.partition(":")[0] for c in kit["c"]))
        assert cutters not in sets
        sets.add(cutters)
        assert sum(int(c.partition(":")[2]) for c in kit["c"]) == 8
    assert len(sets) >= 2
    assert "You have seen them all" in answer.get_data(as_text=True)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("&t=bluish", "bluish"),
        ("&zz=1", "zz"),
        ("&j=x", "“x”"),
        ("&c=1:0", "1:0"),
        ("&c=99999999999:3", "99999999999:3"),
        ("&hold=t7", "t7"),
        ("&s=junk", "junk"),
        ("&serve=juggled&", "juggled"),
        ("&j=5&j=6", "three jars"),
        ("&t=ffffff", "three colours"),
        ("&c=987:2", "no cutter 987"),
    ],
)
def test_what_cannot_be_read_is_told_and_the_rest_is_laid_out(client: FlaskClient, more: str, told: str) -> None:
    address = KIT.replace("&serve=apart", more) if "serve" in more else KIT + more
    page = page_of(client, address, 422)
    notice = page[page.index("Not all of this could be laid out") :].partition("</section>")[0]
    assert told in unescape(notice)
    assert 'class="kitpicture"' in page


@pytest.mark.parametrize(
    ("address", "told"),
    [
        (KIT.replace("j=4", "j=987"), "There is no jar 987 on this shelf"),
        (KIT.replace("j=4", "j=1"), "was there twice"),
        (KIT.replace("kits=6", "kits=0"), "“0” kits"),
        (KIT.replace("kits=6", "kits=" + "9" * 400), "kits cannot be made at once"),
        (KIT.replace("t=7b4a2b", "t=1d8a8a"), "the same icing"),
        (KIT.replace("t=7b4a2b", "t="), "left blank"),
        (KIT.replace("c=1:4", "c=1:97"), "at most 100 cookies"),
        (KIT + "".join(f"&c={n}:1" for n in range(3, 30)), "at most 20 cutters"),
    ],
)
def test_what_does_not_stand_is_filled_in_and_told(client: FlaskClient, address: str, told: str) -> None:
    page = page_of(client, address, 422)
    assert told in unescape(page)
    assert page.count('<li id="part-t') == page.count('<li id="part-j') == 3


def test_a_theme_alone_lays_out_the_best_kit(client: FlaskClient) -> None:
    page = page_of(client, "/kit?theme=owl+party")
    first = unescape(re.search(r'href="/kit\?([^"]+)"', page_of(client, "/?theme=owl+party"))[1])  # type: ignore[index]
    for place in "tj":
        wanted = parse_qs(first)[place]
        assert [kit_of(x)[place] for x in links(page, "hold-c0")] == [wanted]


def test_nothing_to_go_by_is_refused_with_a_next_step(client: FlaskClient) -> None:
    page = page_of(client, "/kit?theme=", 422)
    assert "Begin with a theme" in page


def test_an_address_gives_back_what_it_says() -> None:
    text = "theme=owl&kits=3&serve=mixed&t=1d8a8a&t=d9a93b&t=7b4a2b&j=3&j=2&j=1&c=4:5&hold=t1&avoid=milk"
    text += "&s=1d8a8ad9a93b7b4a2b-1.2.3-4.5&s=ffffffd9a93b7b4a2b-1.2.3-&nocolour=%23ff0000&skip=7"
    read = laid_of(MultiDict(_pairs(text)), WORDS)
    assert read.told == ()
    assert len(read.laid.seen) == 2
    assert laid_of(MultiDict(fields_of(read.laid)), WORDS) == read
    assert laid_of(MultiDict(_pairs("t= TEAL &t=0f0")), WORDS).laid.tints[1] == "#00ff00"


def _pairs(text: str) -> list[tuple[str, str]]:
    return [(name, value) for name, values in parse_qs(text, keep_blank_values=True).items() for value in values]


@pytest.mark.parametrize("place", ["t0", "t2", "j1", "c0", "c1"])
def test_a_swap_changes_one_place_and_all_that_follows(client: FlaskClient, place: str) -> None:
    page = page_of(client, KIT + "&hold=t1")
    found = links(page, f"swap-{place}-")
    assert 2 <= len(found) <= 4
    old = kit_of(KIT)
    for address in found:
        new = kit_of(address)
        for part in "tjc":
            differs = [i for i, (a, b) in enumerate(zip(old[part], new[part], strict=True)) if a != b]
            assert differs == ([int(place[1])] if part == place[0] else [])
        assert new["hold"] == ["t1"]
    after = page_of(client, found[0])
    assert after[after.index("Why this kit") :] != page[page.index("Why this kit") :], "reasons, cost and cautions"


def test_cutters_are_offered_with_reasons_and_counted(client: FlaskClient) -> None:
    page = page_of(client, KIT)
    part = page[page.index('id="others-c1"') :].partition("</details>")[0]
    assert re.search(r"shows the theme’s|says nothing of the theme|near the theme’s", part)
    more, fewer = links(page, "more-c0")[0], links(page, "fewer-c0")[0]
    assert (kit_of(more)["c"], kit_of(fewer)["c"]) == (["1:5", "2:4"], ["1:3", "2:4"])
    one = KIT.replace("c=1:4&c=2:4", "c=1:1&c=2:4") + "&hold=c0&hold=c1"
    gone = kit_of(links(page_of(client, one), "fewer-c0")[0])
    assert (gone["c"], gone["hold"]) == (["2:4"], ["c0"]), "holds move with what is left"
    assert links(page_of(client, KIT.replace("c=1:4&c=2:4", "c=1:1")), "fewer-c0") == []
    assert links(page_of(client, KIT.replace("c=1:4&c=2:4", "c=1:100")), "more-c0") == []


def test_parts_are_held_in_the_picture_itself(client: FlaskClient) -> None:
    page = page_of(client, KIT + "&hold=j1")
    picture = page[page.index('<div class="kitpicture">') :].partition("</svg>")[0]
    touched = {
        m[1]: unescape(m[0])
        for m in re.findall(r'<a href="([^"]+)" aria-label="[^"]*" class="touch" id="kit-(\w\d)"', picture)
    }
    assert sorted(touched) == ["c0", "c1", "j0", "j1", "j2", "t0", "t1", "t2"]
    assert kit_of(touched["t2"])["hold"] == ["j1", "t2"]
    assert "hold" not in kit_of(touched["j1"]), "a second tap lets go"
    assert 'role="group"' in picture


def test_her_own_colours_show_the_nearest_icing_and_a_score(client: FlaskClient) -> None:
    far = KIT.replace("t=1d8a8a", "t=00ffff")
    page = page_of(client, far)
    assert "Asked for was" in page
    scored = client.post(
        "/api/v1/palettes/score", json={"colours": ["#00ffff", "#d9a93b", "#7b4a2b"], "theme": "owl party"}
    ).get_json()
    own = page[page.index("As you gave them") :]
    assert f"In figures: {scored['score']:.2f} of 1" in own
    for reason in scored["reasons"]:
        assert reason in unescape(own)
    # As a word, as it is typed.
    assert "Asked for was" not in page_of(client, KIT.replace("t=1d8a8a", "t=Teal"))


def test_two_kits_are_told_apart_and_the_address_holds_both(client: FlaskClient) -> None:
    other = KIT.replace("t=1d8a8a", "t=d7263d").replace("j=4", "j=7").replace("c=1:4", "c=1:5")
    page = page_of(client, f"/compare?a={quote(KIT[5:])}&b={quote(other[5:])}")
    assert "only in the first" in page
    assert "9" in page
    assert [
        kit_of(unescape(x))["t"][0] for x in re.findall(r'class="button main" href="(/kit\?[^"]+)"', page)
    ] == [
        "1d8a8a",
        "d7263d",
    ]


def test_the_second_kit_is_chosen_by_taps(client: FlaskClient) -> None:
    client.post("/batches", data=MultiDict([*_pairs(KIT[5:]), ("name", "kept for later")]))
    page = page_of(client, f"/compare?a={quote(KIT[5:])}")
    choices = [unescape(x) for x in re.findall(r'href="(/compare\?a=[^"]+&amp;b=[^"]+)"', page)]
    assert len(choices) >= 2
    assert "kept for later" in page
    for one in choices[:2]:
        assert "What sets them apart" in page_of(client, one)
    assert "Which kit" in page_of(client, f"/compare?a={quote(KIT)}&theme=pirates"), "the whole address will do"


@pytest.mark.parametrize("query", ["", "?a=", "?a=zz", "?a=theme%3Dowl%26avoid%3Dmoonlight", "?b=" + "x" * 9000])
def test_a_comparison_of_nothing_is_refused_plainly(client: FlaskClient, query: str) -> None:
    page_of(client, f"/compare{query}", 422)


def test_seen_kits_are_compact() -> None:
    """Twenty changes keep an address well below the 8,000 characters that servers commonly take."""
    one = "&s=1d8a8ad9a93b7b4a2b-123.45.6-7.8.9"
    read = laid_of(MultiDict(_pairs(KIT[5:] + "".join(one.replace("1d8a8a", f"{n:06x}") for n in range(80)))), {})
    assert read.told == ()
    assert len(read.laid.seen) == 40
    assert all(a != b for a, b in pairwise(read.laid.seen))
    assert len("".join(f"{n}={v}&" for n, v in fields_of(read.laid))) < 4_000


def taking(page: str) -> list[str]:
    """What can be taken from a list that lies open."""
    return re.findall(r'name="take" value="([^"]+)"', page)


def in_form(page: str) -> list[tuple[str, str]]:
    """What the form of an open list carries along."""
    form = page[page.index('class="choose"') :].partition("</form>")[0]
    return [(n, unescape(v)) for n, v in re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form)]


@pytest.mark.parametrize("place", ["t1", "j0", "c1", "cn"])
def test_anything_on_the_shelf_can_be_taken(client: FlaskClient, place: str) -> None:
    """The list is reached by a plain link, and its buttons put just the one thing into the one place."""
    page = page_of(client, KIT + "&hold=j2")
    opened = page_of(client, links(page, f"all-{place}")[0].partition("#")[0])
    offered = [take for take in taking(opened) if "-" in take]
    assert len(offered) > 10
    for take in (offered[0], offered[-1]):
        answer = client.get("/kit", query_string=[*in_form(opened), ("take", take)])
        assert answer.status_code == 303
        old, new = kit_of(KIT), kit_of(answer.headers["Location"])
        part, value = place[0], take.partition("-")[2]
        if place == "cn":
            assert new["c"] == [*old["c"], f"{value}:1"]
        else:
            put = f"{value}:4" if part == "c" else value
            assert new[part][int(place[1])] == put
            assert [a for a, b in zip(old[part], new[part], strict=True) if a != b] == [old[part][int(place[1])]]
        assert new["hold"] == ["j2"]
        assert "pick" not in new


def test_what_breaks_a_need_stands_apart_and_is_not_taken(client: FlaskClient) -> None:
    page = page_of(client, KIT + "&avoid=milk&pick=j0")
    apart = page[page.index("Not for this kit") :].partition("</ul>")[0]
    assert "chocolate jimmies" in apart
    assert "contains milk" in apart
    listed = client.get("/api/v1/jars?page_size=200").get_json()["items"]
    milky = next(j for j in listed if "milk" in (j["allergens"] or []))
    assert f"j0-{milky['id']}" not in taking(page)
    refused = page_of(client, f"{KIT}&avoid=milk&take=j0-{milky['id']}", 422)
    assert "was not taken: it contains milk" in unescape(refused)
    assert [kit_of(x)["j"] for x in links(refused, "hold-t0")] == [["1", "2", "4"]]


def test_a_colour_of_her_own_is_taken_for_one_place(client: FlaskClient) -> None:
    answer = client.get(KIT + "&take=t2&own=%20Teal")
    assert kit_of(answer.headers["Location"])["t"][:2] == ["1d8a8a", "d9a93b"]
    assert kit_of(answer.headers["Location"])["t"][2] == "1d8a8a"
    assert "“bluish-ish” is no colour" in unescape(page_of(client, KIT + "&take=t2&own=bluish-ish", 422))
    unwanted = page_of(client, KIT + "&nocolour=%23ff0000&take=t2&own=%23ff0000", 422)
    assert "which is not wanted" in unescape(unwanted)


@pytest.mark.parametrize("take", ["", "j0", "j9-1", "j0-99999", "c7-1", "zz", "j0-2", "t0-12", "c0-2"])
def test_taking_what_is_not_there_changes_nothing(client: FlaskClient, take: str) -> None:
    page = page_of(client, f"{KIT}&take={take}", 422 if take else 200)
    assert [kit_of(x)["j"] for x in links(page, "hold-t0")] == [["1", "2", "4"]]


def test_the_list_is_searched_by_name_without_script(client: FlaskClient) -> None:
    page = page_of(client, KIT + "&pick=j0&q=sugar+sanding")
    form = page[page.index('class="choose"') :].partition("</form>")[0]
    names = re.findall(r"loading=\"lazy\"><span>([^<]+)<", form)
    assert names
    assert all("sanding sugar" in name for name in names)
    assert "Nothing here is called" in page_of(client, KIT + "&pick=j0&q=zebra")


def test_a_kit_page_of_a_big_shelf_stays_light(client: FlaskClient) -> None:
    sugar = {"kind": "sanding sugar", "colours": [{"hex": "#c8253b"}]}
    for n in range(250):
        client.post("/api/v1/jars", json=sugar | {"name": f"a jar with a rather long name, number {n}"})
    for place in ("j0", "t0"):
        assert len(page_of(client, f"{KIT}&pick={place}").encode()) <= 250_000
