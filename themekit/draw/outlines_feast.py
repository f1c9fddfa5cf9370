"""Outlines of feasts and seasons, and the plain shapes that go with anything."""

from __future__ import annotations

from themekit.draw.shape import Shape, bumps, half, polar, polygon, whole
from themekit.draw.trace import Node, around


def _heart() -> str:
    return "0,15! 8,2 24,-3 40,3 49,20 44,42 26,66 0,88!"


def _scalloped_square() -> list[Node]:
    """Five round bumps along each side of a square."""
    found: list[Node] = []
    for turn in range(4):
        for i in range(5):
            x, y = -40.0 + 16 * i, -40.0
            for at in ((x, y, True), (x + 8, y - 8, False)):
                a, b, corner = at
                for _ in range(turn):
                    a, b = -b, a
                found.append((a, b, corner))
    return found


FEASTS: dict[str, Shape] = {
    "gingerbread figure": half(
        "0,0 15,5 19,20 11,32! 26,34 44,34 48,43 42,50 20,52! 19,62 26,78 31,92 26,99 16,98 8,86 0,74!",
        lines="-7,22 0,27 7,22; 0,42; 0,52; 0,62",
        pairs="7,14; 38,36 36,43 38,50; 18,90 24,87 30,86",
        words="gingerbread|gingerbread man|gingerbread person|doll|person|child",
    ),
    "snowman": half(
        "0,-6! 12,-6! 12,6! 20,6! 20,11! 14,13! 20,24 16,35! 26,44 26,58 22,64! 33,76 32,92 24,100 0,101",
        lines="-20,11 20,11; 0,24 12,27! 0,28; 0,48; 0,56; 0,76; 0,88",
        pairs="7,20",
    ),
    "bauble": whole(
        [
            *around(0, 14, 40, 16)[1:-1],
            (-8, -27, True),
            (-8, -34, True),
            (-5, -35, True),
            (-6, -42, False),
            (0, -46, False),
            (6, -42, False),
            (5, -35, True),
            (8, -34, True),
            (8, -27, True),
        ],
        lines="-38,4 0,10 38,4; -38,24 0,30 38,24; -8,-27 8,-27",
        words="ornament|christmas ornament",
    ),
    "bell": half(
        "0,-4 7,0 7,7! 22,14 30,32 32,56 44,74! 44,80! 10,80! 8,89 0,92",
        lines="-38,68 38,68; -30,58 30,58; -10,80 10,80",
        words="jingle bell|wedding bell|school bell",
    ),
    "candy cane": whole(
        "30,100! 30,34 36,18 48,14 58,20 62,34! 76,34! 76,18 66,4 48,-2 30,2 18,14 14,34! 14,100!",
        lines="14,88 30,78; 14,68 30,58; 14,48 30,38; 20,16 34,22; 44,-1 46,14; 66,6 58,20",
    ),
    "stocking": whole(
        "22,0! 70,0! 70,16! 66,16! 66,54 74,66 96,74 104,88 92,100 66,98 40,90 26,74 26,16! 22,16!",
        lines="22,16 70,16; 28,78 44,74 46,92; 78,68 76,84 84,100; 34,8; 46,8; 58,8",
        words="christmas stocking|sock",
    ),
    "mitten": whole(
        "14,100! 10,64 6,36 14,12 32,0 52,6 62,26 63,44! 72,32 86,28 92,38 84,56 68,72 62,80! 62,100!",
        lines="12,82 62,82; 24,92; 38,92; 52,92; 36,28 36,56; 24,36 48,48; 48,36 24,48",
        words="glove|winter",
    ),
    "woolly hat": half(
        "0,-6 12,-2 13,10 7,16! 28,28 36,50 37,58! 42,62 42,76! 38,80! 0,80!",
        lines="-37,58 37,58; -8,16 0,18 8,16; -22,68; 0,68; 22,68",
        pairs="18,32 18,52; 6,30 6,52",
        words="hat|beanie|bobble hat",
    ),
    "gift box": half(
        "0,18 4,16! 8,4 22,0 32,6 26,18! 42,18! 42,36! 38,36! 38,88! 0,88!",
        lines="-6,18 -6,88; 6,18 6,88; -42,36 42,36",
        pairs="4,17 14,6 24,10 8,18",
        words="gift|present|parcel",
    ),
    "ghost": half(
        "0,0 20,6 28,24 30,38! 42,34 46,44 38,54 31,58! 32,76 38,94! 28,90 20,96! 10,90 0,98!",
        lines="o 0,38 5",
        pairs="10,20 10,26",
        words="spook|phantom",
    ),
    "bat": half(
        "0,10 3,9! 8,-2! 12,12 14,22! 26,18 34,2! 48,10 58,26 62,46! 50,40 42,50! 32,42 22,54! 12,50! 0,66!",
        lines="-4,28 0,31 4,28; -14,24 -8,42 0,50 8,42 14,24",
        pairs="4,19; 34,4 38,24 42,48; 32,8 24,28 22,52",
    ),
    "witch hat": whole(
        "30,0! 44,-6 58,0 70,10! 60,10 56,14! 62,30 72,58! 94,64 104,74 90,84 52,88 14,84 0,74 10,64 32,58! 46,30",
        lines="31,60 52,66 72,60; 29,68 52,74 75,68; 46,62! 58,62! 58,72! 46,72! 46,62!",
        words="witch|witch's hat|wizard hat|halloween",
    ),
    "cauldron": half(
        "0,4! 34,4! 42,10 38,18! 46,36 42,58 32,70! 38,84! 28,84! 22,77 0,80",
        lines="-36,18 36,18; -16,40 -8,46 0,40 8,46 16,40",
        words="potion",
    ),
    "coffin": half("0,0! 20,0! 34,28! 18,100! 0,100!", lines="0,22 0,60; -12,34 12,34", words="vampire|casket"),
    "spider web": whole(
        [n for i in range(8) for n in (polar(50, 45 * i, True), polar(36, 45 * i + 22.5))],
        lines="0,-46 0,46; -46,0 46,0; -32,-32 32,32; -32,32 32,-32; 0,-28 13,-13 28,0 13,13 0,28 -13,13 -28,0"
        " -13,-13 0,-28",
        words="spider|web|cobweb",
    ),
    "balloon": half(
        "0,0 22,6 35,24 35,44 24,64 5,78! 9,88! 2,86! 3,100! 0,100!",
        lines="-20,16 -26,32; -5,79 5,79",
        words="party balloon|birthday balloon|party",
    ),
    "party hat": half(
        "0,-4 7,1 5,10! 32,90! 16,96 0,98",
        lines="-10,28 12,34; -17,50 20,56; -24,70 28,76; -5,10 5,10",
        words="birthday hat|clown hat|cone",
    ),
    "firework": whole(
        [polar(50 if i % 2 == 0 else (20 if i % 4 == 1 else 26), 15 * i, True) for i in range(24)],
        lines="0,-14 0,-34; 12,-7 30,-17; 12,7 30,17; 0,14 0,34; -12,7 -30,17; -12,-7 -30,-17",
        words="fireworks|burst|sparkler",
    ),
    "spinning top": half(
        "0,-4! 8,-4! 8,20! 34,20! 34,56! 16,80! 0,98!",
        lines="-34,56 34,56; -34,26 34,26; -8,20 8,20; -8,34 -8,48; 8,34 8,48; -8,34 8,34",
        words="dreidel|top",
    ),
    "nine-armed candlestick": half(
        "0,-4 4,6! 4,10! 9,18! 9,6! 10,2 12,6! 12,18! 19,18! 19,6! 21,2 23,6! 23,18! 30,18! 30,6! 32,2 34,6!"
        " 34,18! 41,18! 41,6!"
        " 43,2 45,6! 46,26 42,48 26,64 5,68! 5,84! 20,90 20,98! 0,98!",
        lines="0,14 0,88; -11,24 -6,38 0,42 6,38 11,24; -21,24 -14,44 0,52 14,44 21,24; -32,24 -22,50 0,62"
        " 22,50 32,24",
        words="menorah|hanukkiah|candelabra",
    ),
    "horseshoe": half(
        "0,0 26,7 40,28 40,52 32,74 30,86! 14,86! 18,66 24,48 22,30 12,20 0,17",
        pairs="28,20; 33,40; 29,60; 12,9; 23,76",
        lines="",
        words="lucky horseshoe",
    ),
    "cross": half(
        "0,0! 11,0! 11,26! 36,26! 36,48! 11,48! 11,100! 0,100!",
        lines="0,10 0,90; -28,37 28,37",
        words="crucifix|christening|communion|church|baptism",
    ),
    "angel": half(
        "0,-2 9,2 11,12 7,20! 14,24 20,28! 34,14 46,16 50,30 42,46 24,50! 30,76 36,98! 0,98!",
        lines="-7,20 0,24 7,20; -8,40 0,44 8,40; -32,88 32,88",
        pairs="28,28 38,26; 28,38 42,34",
    ),
    "wreath": whole(
        bumps(14, 44),
        lines="o 0,0 20; -8,32 0,36! 8,32; 0,36 -6,46; 0,36 6,46; 0,-34; -30,-14; 30,-14; -28,20; 28,20",
        words="garland",
    ),
    "sleigh": whole(
        "0,20! 10,12 22,20 30,44! 60,44! 70,30 76,6 92,0 98,10! 90,14 86,34 84,56 76,64! 92,70 104,62! 104,74"
        " 90,80! 12,80! 12,72!"
        " 24,70! 12,58 8,36",
        lines="18,56 76,56; 34,64 34,72; 62,64 62,72",
        words="sled|sledge",
    ),
    "reindeer head": half(
        "0,40 10,38! 12,24! 2,14! 8,8! 14,14! 16,-2! 23,-2! 22,14! 32,4! 38,8! 22,30! 20,40! 30,38 40,42 34,52"
        " 20,54! 18,70 17,88 8,98 0,99",
        lines="o 0,86 8",
        pairs="9,60",
        words="reindeer|deer|moose|stag",
    ),
    "turkey": whole(
        [
            *[
                polar(r, a, k)
                for i in range(9)
                for r, a, k in ((50, -112 + 28 * i, False), (41, -98 + 28 * i, True))
            ][:-1],
            (24, 34, True),
            (8, 44, False),
            (-8, 44, False),
            (-24, 34, True),
        ],
        lines="-16,40 -18,16 -6,4! -10,-10 0,-20 10,-10 6,4! 18,16 16,40; -4,-12; 4,-12; -3,-6 0,-1! 3,-6",
        words="thanksgiving|peacock",
    ),
}

PLAIN: dict[str, Shape] = {
    "heart": half(_heart(), lines="-30,16 -36,26", words="love heart|love|valentine"),
    "circle": whole(around(0, 0, 50), words="round|disc|plain round"),
    "oval": whole([(x, 0.72 * y, corner) for x, y, corner in around(0, 0, 50, 12)], words="ellipse"),
    "square": whole("0,0! 100,0! 100,100! 0,100!"),
    "rectangle": whole("0,0! 100,0! 100,64! 0,64!", words="bar|oblong"),
    "triangle": whole("50,0! 100,86.6! 0,86.6!"),
    "hexagon": whole(polygon(6, 30), words="honeycomb"),
    "octagon": whole(polygon(8, 22.5)),
    "scalloped round": whole(bumps(16, 46.5), words="scalloped circle|fluted round"),
    "scalloped square": whole(_scalloped_square()),
    "number plaque": half(
        "0,0! 27,0! 28,6 35,8! 35,82! 28,84 27,90! 0,90!",
        lines="-25,10! 25,10! 25,80! -25,80! -25,10!; -8,34! 2,26! 2,64!",
        words="plaque|number|sign",
    ),
    "scroll plaque": half(
        "0,2! 10,0 34,8! 42,4 50,10! 46,22! 50,31 46,40! 50,52 42,58! 34,54! 10,62 0,60!",
        lines="-30,22 30,22; -30,31 30,31; -30,40 30,40",
        words="letter|name plaque|plaque with scrolls|label|tag",
    ),
    "envelope": whole(
        "0,0! 100,0! 100,66! 0,66!",
        lines="0,0 50,38! 100,0; 0,66 36,28; 100,66 64,28",
        words="post|love letter|mail",
    ),
    "speech bubble": whole(
        "12,0! 88,0! 100,12! 100,52! 88,64! 46,64! 24,86! 28,64! 12,64! 0,52! 0,12!",
        lines="18,24 82,24; 18,40 64,40",
    ),
    "arrow": whole("0,26! 56,26! 56,4! 100,42! 56,80! 56,58! 0,58!"),
    "lips": half(
        "0,12! 14,-2 30,4 50,26! 34,44 16,52 0,53", lines="-42,25 -16,22 0,26 16,22 42,25", words="kiss|mouth"
    ),
}
