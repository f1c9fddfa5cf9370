"""The arrangement search, against cases packed by construction, a brute force and a puzzle."""

from __future__ import annotations

import random
from collections import Counter
from itertools import permutations, product

import pytest

from themekit.errors import InvalidValue
from themekit.make.arrange import MOST_PIECES, Arrangement, Laid, Measure, Piece, arrange
from themekit.make.lowering import Kind, Size, lower
from themekit.make.relations import relate
from themekit.make.too_full import fitting, too_bulky, too_much

ANYHOW: tuple[Measure, ...] = ("length", "width", "height")
FITS = ("fits", "fits only laid so")


def cut_up(rng: random.Random, box: Size, count: int, least: int) -> list[Size]:
    """The box cut straight through, and its parts again, until there are `count`."""
    parts = [box]
    while len(parts) < count:
        part = parts.pop(rng.randrange(len(parts)))
        axes = [a for a in range(3) if part[a] >= 2 * least]
        if not axes:
            parts.append(part)
            continue
        axis = rng.choice(axes)
        at = rng.randint(least, part[axis] - least)
        parts += [
            tuple(at if a == axis else s for a, s in enumerate(part)),
            tuple(s - at if a == axis else s for a, s in enumerate(part)),
        ]
    rng.shuffle(parts)
    return parts


def check_layout(pieces: list[Piece], inner: tuple[float, ...], found: Arrangement) -> None:
    """Every piece is there, inside, turned as allowed, resting on something, clear of the others."""
    assert [p.name for p in pieces] == [q.name for q in found.laid]
    for piece, laid in zip(pieces, found.laid, strict=True):
        at, size = (laid.x_mm, laid.y_mm, laid.z_mm), (laid.length_mm, laid.width_mm, laid.height_mm)
        assert all(a >= 0 and a + s <= i + 1e-6 for a, s, i in zip(at, size, inner, strict=True))
        assert sorted(size) == pytest.approx(sorted(piece.sizes_mm), abs=0.11)
        assert min(abs(getattr(piece, f"{m}_mm") - size[2]) for m in piece.up) < 0.11
        tops = [o.z_mm + o.height_mm for o in found.laid if o is not laid and shared(o, laid)]
        assert laid.z_mm == 0 or any(abs(top - laid.z_mm) < 1e-6 for top in tops)
        assert (laid.level == 0) == (laid.z_mm == 0)
    for i, a in enumerate(found.laid):
        for b in found.laid[:i]:
            level = a.z_mm < b.z_mm + b.height_mm - 1e-6 and b.z_mm < a.z_mm + a.height_mm - 1e-6
            assert not (level and shared(a, b)), (a, b)


def shared(a: Laid, b: Laid) -> bool:
    """Whether two pieces cover some of the same floor."""
    return (
        min(a.x_mm + a.length_mm, b.x_mm + b.length_mm) - max(a.x_mm, b.x_mm) > 1e-6
        and min(a.y_mm + a.width_mm, b.y_mm + b.width_mm) - max(a.y_mm, b.y_mm) > 1e-6
    )


def brute_force(ways: list[list[Size]], box: Size) -> bool:
    """Whether pieces go into a small box: every way of every piece at every whole place, as bits."""
    at = {cell: 1 << n for n, cell in enumerate(product(*(range(s) for s in box)))}
    masks = []
    for piece in ways:
        found = set()
        for way in piece:
            for corner in product(*(range(b - w + 1) for b, w in zip(box, way, strict=True))):
                cells = product(*(range(c, c + w) for c, w in zip(corner, way, strict=True)))
                found.add(sum(at[cell] for cell in cells))
        masks.append(sorted(found))
    masks.sort(key=len)

    def lay(n: int, taken: int) -> bool:
        return n == len(masks) or any(lay(n + 1, taken | m) for m in masks[n] if not m & taken)

    return lay(0, 0)


def turned(size: Size, up: tuple[Measure, ...] = ANYHOW) -> list[Size]:
    """The ways that a piece may lie."""
    kept = [ANYHOW.index(m) for m in up]
    return sorted({tuple(size[i] for i in order) for order in permutations(range(3)) if order[2] in kept})


def small_case(seed: int) -> tuple[list[Size], Size, tuple[Measure, ...]]:
    """A small box cut up, as it is or with one piece longer by 1, or with pieces at random."""
    rng = random.Random(seed)
    box = (rng.randint(3, 6), rng.randint(3, 5), rng.randint(2, 4))
    sizes = cut_up(rng, box, rng.randint(3, 5), 1)
    change = seed % 4
    if change == 1:
        at = rng.randrange(len(sizes))
        sizes[at] = (sizes[at][0] + 1, *sizes[at][1:])
    elif change >= 2:
        sizes = [tuple(max(1, s - rng.randint(0, 1)) for s in size) for size in sizes]
        at = rng.randrange(len(sizes))
        sizes[at] = (sizes[at][0] + 1, *sizes[at][1:])
    return sizes, box, ANYHOW if seed % 3 else ("height",)


@pytest.mark.parametrize("count", range(5, 13))
def test_packed_by_construction_is_found(count: int) -> None:
    """32 boxes of whole mm cut into so many pieces, nothing left over: 256 cases in all."""
    for seed in range(32):
        rng = random.Random(1000 * count + seed)
        box = (rng.randint(150, 300), rng.randint(150, 300), rng.randint(50, 110))
        up = ANYHOW if seed % 2 else ("height",)
        pieces = [Piece(f"piece {i}", *s, up) for i, s in enumerate(cut_up(rng, box, count, 10))]
        found = arrange(pieces, box)
        assert found.answer == "fits only laid so", (seed, found)
        assert found.used_share == pytest.approx(1)
        check_layout(pieces, box, found)


def test_small_cases_agree_with_brute_force() -> None:
    """Pieces too long by 1 mm do not fit, and that is proven; where anything fits it is found."""
    seen: Counter[tuple[str, bool]] = Counter()
    for seed in range(400):
        sizes, box, up = small_case(seed)
        pieces = [Piece(str(i), *s, up) for i, s in enumerate(sizes)]
        found = arrange(pieces, box)
        goes = brute_force([turned(s, up) for s in sizes], box)
        assert found.answer in FITS if goes else found.answer == "does not fit", (seed, found)
        if goes:
            check_layout(pieces, box, found)
        else:
            assert found.why
        seen[(found.why, goes)] += 1
    assert seen["", True] >= 100
    assert sum(n for (_, goes), n in seen.items() if not goes) >= 100


def test_each_search_alone_agrees_with_brute_force() -> None:
    """Relations answer every small case; lowering finds no false layout; bounds refuse nothing that goes."""
    lowered = bulky = 0
    for seed in range(400):
        sizes, box, up = small_case(seed)
        counted = Counter(tuple(turned(s, up)) for s in sizes)
        kinds = [fitting(Kind(ways, n), box) for ways, n in sorted(counted.items())]
        goes = brute_force([turned(s, up) for s in sizes], box)
        if not all(k.ways for k in kinds) or too_much(kinds, box):
            assert not goes
            continue
        related = relate(kinds, box, 100_000)
        assert (related.spots is not None) == goes, seed
        assert related.proven == (not goes)
        found = lower(kinds, box, 3000).spots
        assert goes or found is None
        lowered += found is not None
        if too_bulky(kinds, box):
            bulky += 1
            assert not goes, seed
    assert lowered >= 100
    assert bulky >= 5


def test_a_search_that_ends_early_proves_nothing() -> None:
    kinds = [Kind(((3, 2, 2), (2, 3, 2)), 4)]
    assert relate(kinds, (5, 5, 2), 1000).spots
    assert relate(kinds, (4, 5, 2), 1000).proven or relate(kinds, (4, 5, 2), 1000).spots
    early = relate(kinds, (5, 5, 2), 2)
    assert early.spots is None
    assert not early.proven
    many = [Piece(f"piece {i}", 10, 10, 10) for i in range(MOST_PIECES + 1)]
    found = arrange(many, (1000, 1000, 1000))
    assert found.answer == "not found"
    assert str(MOST_PIECES) in found.why


def test_the_puzzle_of_nine_blocks() -> None:
    """Six blocks 1 × 2 × 2 and three 1 × 1 × 1 fill 3 × 3 × 3 in one way only, mirrorings and turnings
    aside (the Slothouber–Graatsma puzzle; Berlekamp, Conway, Guy, Winning Ways, ch. 24; from memory)."""
    flats = [Piece(f"flat {i}", 20, 20, 10, ANYHOW) for i in range(6)]
    cubes = [Piece(f"cube {i}", 10, 10, 10, ANYHOW) for i in range(3)]
    found = arrange([*flats, *cubes], (30, 30, 30))
    assert found.answer == "fits only laid so"
    check_layout([*flats, *cubes], (30, 30, 30), found)
    assert arrange([*flats, *cubes, Piece("cube 4", 1, 1, 1)], (30, 30, 30)).answer == "does not fit"
    # In that way the cubes lie on a diagonal of the box: three in a row never do.
    flat, row = Kind(tuple(turned((2, 2, 1))), 6), Kind(tuple(turned((3, 1, 1))), 1)
    assert relate([flat, row], (3, 3, 3), 10_000).proven


def test_loose_and_tight() -> None:
    """One half full by a plain rule; the same pieces tight, or with a share that is stricter."""
    pieces = [Piece(f"block {i}", 50, 40, 20) for i in range(6)]
    assert arrange(pieces, (150, 120, 30)).answer == "fits"
    assert arrange(pieces, (150, 120, 30), loose_share=0.3).answer == "fits only laid so"
    assert arrange(pieces, (150, 80, 20)).answer == "fits only laid so"
    assert arrange(pieces, (149, 80, 20)).answer == "does not fit"
    assert arrange([], (10, 10, 10)).answer == "fits"


def test_flat_pieces_lie_over_the_rest_or_stand() -> None:
    card = Piece("card", 90, 60, 1, ANYHOW, on_top=True, kind="card")
    block = Piece("block", 95, 50, 50)
    over = arrange([card, block], (100, 70, 60))
    check_layout([card, block], (100, 70, 60), over)
    assert over.laid[0].z_mm == 50
    assert over.laid[0].up == "height"
    assert over.laid[0].kind == "card"
    stands = arrange([card, block], (100, 55, 60))
    check_layout([card, block], (100, 55, 60), stands)
    assert stands.answer == "fits only laid so"
    assert stands.laid[0].up == "width"
    assert stands.laid[0].height_mm == 60
    assert arrange([card, block], (100, 50.5, 60)).answer == "does not fit"
    low = arrange([card, Piece("low", 95, 50, 30)], (100, 55, 60))
    assert low.used_share < 0.6
    assert low.answer == "fits only laid so"  # roomy, but not by a plain rule


def test_what_rests_on_little_is_bedded() -> None:
    low, wide = Piece("low", 40, 40, 20), Piece("wide", 100, 40, 20)
    found = arrange([low, wide], (100, 40, 40))
    lower_one, upper = sorted(found.laid, key=lambda p: p.z_mm)
    assert (lower_one.bedded, lower_one.level, upper.level) == (False, 0, 1)
    assert upper.bedded == (upper.name == "wide")


def test_the_same_input_gives_the_same_answer() -> None:
    rng = random.Random(5)
    box = (240, 180, 70)
    pieces = [Piece(str(i), *s, ANYHOW) for i, s in enumerate(cut_up(rng, box, 10, 10))]
    assert arrange(pieces, box) == arrange(list(pieces), box)


def test_tenths_of_a_millimetre_count_against_the_pieces() -> None:
    assert arrange([Piece("a", 10.04, 10, 10)], (10.0, 20, 20)).answer in FITS  # turned along the 20
    assert arrange([Piece("a", 10.04, 10, 10)], (10.0, 10.0, 20)).answer == "does not fit"
    assert arrange([Piece("a", 0.1 + 0.2, 10, 10)], (0.3, 10, 10)).answer in FITS
    assert arrange([Piece("a", 0.8, 10, 10)], (0.7 + 0.1, 10, 10)).answer in FITS


@pytest.mark.parametrize("size", [0.0, -1.0, float("nan"), float("inf")])
def test_sizes_must_be_lengths(size: float) -> None:
    with pytest.raises(InvalidValue) as told:
        arrange([Piece("spoon", size, 10, 10), Piece("cup", 10, 10, size)], (10, 10, 10))
    assert [p.field for p in told.value.problems] == ["pieces[0] spoon", "pieces[1] cup"]
    with pytest.raises(InvalidValue):
        arrange([Piece("spoon", 10, 10, 10)], (10, size, 10))
