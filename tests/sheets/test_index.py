"""The index of a folder of sheets, searched and sorted by real key presses."""

import json
import re
import time

import pytest

from browsing import focus, pale, scrolls_sideways, violations
from conftest import DAY, ROOT, run


def until(page, holds):
    """Waits for something. The browser's own waiting would evaluate text in the page, which its policy refuses."""
    for _ in range(600):
        if page.evaluate(holds):
            return
        time.sleep(0.05)
    pytest.fail(f"never: {holds}")


def index(tabs, folder):
    page = tabs.open(folder / "index.html", beside="index-text-")
    # The free text has come in.
    until(page, "document.getElementById('texts')?.textContent === ''")
    return page


@pytest.fixture
def page(tabs, county):
    page = index(tabs, county)
    yield page
    assert page.said == []
    tabs.close(page)


def names(page):
    return page.eval_on_selector_all("#rows a", "(links) => links.map((link) => link.textContent)")


def typed(page, text):
    """Types where the caret is, as a user does, and gives what is found."""
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    return names(page)


def test_all_offices_are_there(page):
    assert len(names(page)) == len(list((ROOT / "tests/county/offices").glob("*.office"))) + 1
    assert page.text_content("#count") == "18 of 18 offices"


def test_a_name_a_site_and_a_word_of_the_file_find_an_office(page):
    focus(page, "search")
    assert typed(page, "ashlar") == ["Ashlar Cross"]
    assert typed(page, "elmh01") == ["Elm Hollow"]
    # Only the file of this office has a record with that number.
    assert typed(page, "QC-20418") == ["Ashlar Cross"]
    assert typed(page, "no such word") == []
    assert page.text_content("#count") == "0 of 18 offices"
    page.keyboard.press("Control+A")
    page.keyboard.press("Delete")
    assert len(names(page)) == 18


def test_filters_and_order(page):
    focus(page, "stage")
    page.keyboard.type("planned")
    planned = names(page)
    assert 0 < len(planned) < 18
    page.keyboard.press("Home")
    assert len(names(page)) == 18
    focus(page, "margin")
    few = typed(page, "3")
    assert len(few) == 3
    # An office that is written in kPa has 27.7 kPa, which is 4 psi.
    assert "kPa" not in page.text_content("#rows")
    assert len(typed(page, "4.1")) > len(few)
    assert "27.7" in page.text_content("#rows")
    page.keyboard.press("Control+A")
    page.keyboard.press("Delete")
    before = names(page)
    assert before == sorted(before, key=str.lower)
    page.focus("th.name button")
    page.keyboard.press("Enter")
    assert names(page) == before[::-1]
    assert page.get_attribute("th.name", "aria-sort") == "descending"


def test_a_link_leads_to_the_sheets(page):
    focus(page, "search")
    typed(page, "quillback")
    page.click("#rows a")
    page.wait_for_load_state()
    assert "Tallow Street" in page.text_content("h1")


def test_a_telephone_scrolls_only_down(page):
    assert not scrolls_sideways(page)


def test_nothing_keeps_anyone_out(page, axe):
    assert violations(page, axe) == []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert pale(page, axe) == [], scheme


def test_hostile_titles_are_text(tabs, generated):
    page = index(tabs, generated)
    assert any(name.startswith("<script>") for name in names(page))
    assert page.title() == "Offices and their sheets"
    assert page.said == []
    tabs.close(page)


def many(county, folder, number):
    """The index of the county, as if it had so many offices: its own rows and texts again and again."""
    text = (county / "index.html").read_text(encoding="utf-8")
    start = text.index('type="application/json">') + len('type="application/json">')
    end = text.index("</script>", start)
    data = json.loads(text[start:end])
    own = data["offices"]
    free = json.loads(re.search(r"drysheathTexts\(0, (.*)\);", (county / "index-text-0.js").read_text(encoding="utf-8"), re.DOTALL)[1])
    data["offices"] = [{**own[at % len(own)], "name": f"office-{at}", "title": f"Office {at}"} for at in range(number)]
    data["texts"] = [f"index-text-{at}.js" for at in range(number // 2000)]
    folder.mkdir(exist_ok=True)
    for at in range(number // 2000):
        texts = [free[one % len(own)] for one in range(at * 2000, (at + 1) * 2000)]
        texts[7] += f"\nneedle-{at}"
        (folder / f"index-text-{at}.js").write_text(f"drysheathTexts({at * 2000}, {json.dumps(texts)});\n", encoding="utf-8")
    written = json.dumps(data).replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    (folder / "index.html").write_text(text[:start] + written + text[end:], encoding="utf-8")
    return folder


def test_twenty_thousand_offices_are_searched(tabs, county, tmp_path):
    page = index(tabs, many(county, tmp_path / "many", 20_000))
    assert page.text_content("#count") == "20000 of 20000 offices"
    focus(page, "search")
    assert typed(page, "needle-9") == ["Office 18007"]
    assert page.said == []
    tabs.close(page)


def test_two_offices_of_one_name_have_two_files(tmp_path):
    text = (ROOT / "grammar/example.office").read_text(encoding="utf-8")
    for folder in ("north", "south"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "index.office").write_text(text, encoding="utf-8")
    (tmp_path / "index.office").write_text(text, encoding="utf-8")
    run("sheets", ".", "--to", "sheets", "--today", DAY, cwd=tmp_path)
    written = {path.relative_to(tmp_path / "sheets").as_posix() for path in (tmp_path / "sheets").rglob("*.html")}
    assert written == {"index.html", "index.2.html", "north/index.html", "south/index.html"}
    assert "Offices and their sheets" in (tmp_path / "sheets/index.html").read_text(encoding="utf-8")
