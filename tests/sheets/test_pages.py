"""Every sheet, as Chromium lays it out on a screen and on paper."""

import os

import pytest

import offices
from browsing import looked, pale, scrolls_sideways, texts_on_paper, violations
from conftest import ROOT

COUNTY = sorted(path.stem for path in (ROOT / "tests/county/offices").glob("*.office"))
SHEETS = [("county", f"offices/{name}") for name in COUNTY] + [("county", "example")] + [("generated", name) for name in offices.ALL] + [("order", None)]

SHAPES = {"ashlar-cross", "lantern-hill", "quay-marl", "tallow-street", "twin-sluice", "example", "elm", "long-names", "one-cable", "hostile", "empty"}
"""Sheets that together have every kind of element, each with its classes, and the longest names, the most sections on a line and the least
that an office can have. What no office's own places and names decide is asked of these alone, unless EVERY_SHEET is set."""


@pytest.fixture(scope="module", params=SHEETS, ids=lambda sheet: sheet[1] or sheet[0])
def sheet(request):
    kind, name = request.param
    folder = request.getfixturevalue(kind)
    return folder / f"{name}.html" if name else folder


@pytest.fixture(scope="module")
def page(tabs, sheet):
    """The sheet in a window of ordinary size, and what the browser had to say of its policy."""
    page = tabs.open(sheet)
    yield page
    tabs.close(page)


@pytest.fixture
def shape(page, sheet):
    """The page of such a sheet."""
    if sheet.stem not in SHAPES and "EVERY_SHEET" not in os.environ:
        pytest.skip("looked at in other sheets")
    return page


def test_nothing_lies_on_anything_else(page):
    page.emulate_media(media="print")
    assert looked(page, "overlaps")[:5] == []


def test_nothing_is_cut_on_paper(page):
    page.emulate_media(media="print")
    assert looked(page, "cut")[:5] == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pages_on_paper_are_those_that_are_numbered(page, paper, tmp_path, request):
    # Letter is the shorter of the two, and how wide a page is no office decides.
    if paper == "A4":
        request.getfixturevalue("shape")
    number = page.evaluate("document.querySelectorAll('.page').length")
    page.pdf(path=tmp_path / "sheet.pdf", format=paper, print_background=True)
    printed = texts_on_paper(tmp_path / "sheet.pdf")
    assert len(printed) == number
    for at, text in enumerate(printed, 1):
        assert f"page {at} of {number}" in text
        assert "computed, not measured" in text and "Local codes and licensed people govern" in text


def test_a_telephone_scrolls_only_down(shape):
    shape.emulate_media(media="screen")
    try:
        assert not scrolls_sideways(shape)
    finally:
        shape.set_viewport_size({"width": 1000, "height": 900})


def test_nothing_keeps_anyone_out(shape, axe):
    shape.emulate_media(media="screen")
    assert violations(shape, axe) == []


@pytest.mark.parametrize("name", ["example", "offices/tallow-street", "hostile", None])
def test_nothing_is_pale(name, tabs, axe, county, generated, order):
    """Colours do not depend on the office, so that they are looked at where there are all kinds of them."""
    page = tabs.open(order if name is None else (generated if name in offices.ALL else county) / f"{name}.html")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert pale(page, axe) == [], scheme
    tabs.close(page)


def test_pale_text_would_be_seen(tabs, axe, generated):
    """The check above can fail: a grey like that of the paper is reported."""
    page = tabs.open(generated / "empty.html")
    page.evaluate("document.querySelector('h1').style.color = '#ddd'")
    assert [rule for rule, *_ in pale(page, axe)] == ["color-contrast"]
    tabs.close(page)


def test_nothing_runs_and_nothing_is_fetched(page):
    assert page.said == []
    assert page.evaluate("document.querySelectorAll('script, img, iframe, object, embed, link, base, [style], [onload], [onerror]').length") == 0
    assert page.evaluate("document.querySelector('meta[http-equiv]').content").startswith("default-src 'none'; style-src 'sha256-")


def test_hostile_texts_stay_text(generated, tabs):
    page = tabs.open(generated / "hostile.html")
    text = page.evaluate("document.body.innerText")
    for hostile in offices.HOSTILE:
        assert offices.said(hostile) in text, hostile
    assert page.title().startswith("Sheets: <script>")
    tabs.close(page)


def test_the_policy_holds_where_something_gets_in(generated, tabs):
    """The check above can fail: a script and a style that are not ours are refused and reported."""
    text = (generated / "empty.html").read_text(encoding="utf-8")
    smuggled = generated / "smuggled.html"
    smuggled.write_text(text.replace("<main>", "<main><script>document.title='taken'</script><style>*{color:red}</style>", 1), encoding="utf-8")
    page = tabs.open(smuggled)
    assert page.title() != "taken"
    assert len([one for one in page.said if "Content Security Policy" in one]) >= 2
    tabs.close(page)
    smuggled.unlink()


def test_overlap_would_be_seen(county, tabs):
    """The check above can fail: a text that is moved onto another is reported."""
    page = tabs.open(county / "example.html")
    page.evaluate("document.querySelectorAll('svg.drawing text.name')[1].setAttribute('x', document.querySelectorAll('svg.drawing text.name')[0].getAttribute('x'))")
    assert looked(page, "overlaps")
    tabs.close(page)


def test_notes_are_printed(generated, tabs):
    page = tabs.open(generated / "large.html")
    text = page.evaluate("document.body.innerText")
    for note in ["A large office: ask for the key.", "Work the contact by hand.", "Manhole 3 of cable 12."]:
        assert note in text, note
    tabs.close(page)
