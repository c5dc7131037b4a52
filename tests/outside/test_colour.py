"""Pair colours and pins against the tables of 7 CFR 1755.870 and 1755.890, typed here by hand."""

PAIRS = """
 1 white blue    2 white orange    3 white green    4 white brown    5 white slate
 6 red blue      7 red orange      8 red green      9 red brown     10 red slate
11 black blue   12 black orange   13 black green   14 black brown   15 black slate
16 yellow blue  17 yellow orange  18 yellow green  19 yellow brown  20 yellow slate
21 violet blue  22 violet orange  23 violet green  24 violet brown  25 violet slate
"""


def colours():
    words = PAIRS.split()
    return {int(n): (tip, ring) for n, tip, ring in zip(words[0::3], words[1::3], words[2::3])}


def test_pairs(figures):
    table = colours()
    assert [row["pair"] for row in figures["pairs"]] == list(range(1, 1201))
    for row in figures["pairs"]:
        pair, found = row["pair"], row["colours"]
        # 24 groups of 25 make 600 pairs; the 25th combination of colours binds no group.
        super_unit, rest = divmod(pair - 1, 600)
        group, place = divmod(rest, 25)
        assert (found["tip"], found["ring"]) == table[place + 1], pair
        assert tuple(found["binder"]) == table[group + 1], pair
        assert found["group"] == super_unit * 24 + group + 1, pair
        assert found["super_unit"] == ("white", "red")[super_unit], pair


def test_pins(figures):
    # Rows 1 to 25 of the connector carry the rings, rows 26 to 50 the tips.
    pins = {row["pair"]: tuple(row["pins"]) for row in figures["pairs"] if row["pins"]}
    assert pins == {ring: (tip, ring) for ring, tip in zip(range(1, 26), range(26, 51))}
