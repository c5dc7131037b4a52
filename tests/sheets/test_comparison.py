"""The page of a comparison, as Chromium shows it: before and now side by side, filtered by real key presses."""

import shutil

import pytest

import offices
from browsing import focus, looked, pale, scrolls_sideways, texts_on_paper, violations
from conftest import DAY, ROOT, run

EXAMPLE = (ROOT / "grammar/example.office").read_text(encoding="utf-8")


def write(folder, files):
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    return folder


def page_of(base, head, to, *options):
    run("compare", base, head, "--output", f"html={to}", "--today", DAY, *options)
    return to


def named(text, at):
    """The example office under another name."""
    return text.replace("elm-hollow", f"office-{at}").replace("Elm Hollow", f"Office {at}").replace("ELMH01", f"SITE{at}").replace(
        "192.0.2.11", f"192.0.{2 + at // 250}.{at % 250 + 1}"
    )


def leaking(text):
    """The office with more air going out of its cable, so that pressures fall."""
    assert "usage 4 scfh" in text
    return text.replace("usage 4 scfh", "usage 12 scfh")


@pytest.fixture(scope="session")
def few(tmp_path_factory):
    """One office leaks, one is rewired, one is hostile, one came, and one has 40 sensors."""
    folder = tmp_path_factory.mktemp("few")
    hostile = offices.hostile()
    large = offices.large("large", "A large office", 3, 40, True)
    base = {"a.office": named(EXAMPLE, 1), "b.office": named(EXAMPLE, 2), "hostile.office": hostile, "large.office": large}
    head = {
        "a.office": leaking(named(EXAMPLE, 1)),
        "b.office": offices.changed(named(EXAMPLE, 2)),
        "hostile.office": hostile.replace("regulator r { set 10 psi", "regulator r { set 12 psi").replace("24 awg, title", "22 awg, title")
        .replace("to \"<", "to \"now <").replace("usage 1 scfh", "usage 40 scfh"),
        "large.office": large.replace("usage 0.4 scfh", "usage 0.9 scfh"),
        "new.office": named(EXAMPLE, 3),
    }
    return page_of(write(folder / "base", base), write(folder / "head", head), folder / "few.html")


@pytest.fixture(scope="session")
def many(tmp_path_factory):
    """300 offices that all got worse."""
    folder = tmp_path_factory.mktemp("many")
    base = {f"{at}.office": named(EXAMPLE, at) for at in range(300)}
    head = {name: leaking(text) for name, text in base.items()}
    states = write(folder / "base", base), write(folder / "head", head)
    return page_of(*states, folder / "many.html"), page_of(*states, folder / "all.html", "--all")


@pytest.fixture(scope="session")
def crowded(tmp_path_factory):
    """700 offices that changed so much that the page has no room for some of them, and more rules broken than it has rows."""
    folder = tmp_path_factory.mktemp("crowded")
    base = {f"{at}.office": named(EXAMPLE, at) for at in range(700)}
    head = {name: leaking(text).replace("usage 3 scfh", "usage 5 scfh") for name, text in base.items()}
    # Results that are gone are the last to get room: of these rules all of it is taken by then.
    base["gone.office"] = "office gone {\n  cable c { length 1 km, resistance 0.1 psi/scfh/kft }\n  cable c { length 1 km }\n}\n"
    head["gone.office"] = "office gone {}\n"
    states = write(folder / "base", base), write(folder / "head", head)
    return page_of(*states, folder / "crowded.html"), page_of(*states, folder / "all.html", "--all")


@pytest.fixture
def page(tabs, few):
    page = tabs.open(few)
    yield page
    assert page.said == []
    tabs.close(page)


def rows(page):
    """The offices or kinds of the rows that can be seen."""
    return page.eval_on_selector_all("[data-kind]", "(all) => all.filter((one) => !one.hidden).map((one) => [one.dataset.kind, one.dataset.level || ''])")


def choose(page, id, value):
    """Chooses a line of a list with the arrow key, which no slow machine takes for something else."""
    focus(page, id)
    page.keyboard.press("Home")
    for _ in range(12):
        if page.input_value(f"#{id}") == value:
            return
        page.keyboard.press("ArrowDown")
    pytest.fail(f"no {value} in {id}")


def test_what_got_worse_comes_first_and_is_open(page):
    heads = page.eval_on_selector_all("h2", "(all) => all.map((one) => one.textContent.split(':')[0])")
    assert heads[:2] == ["What got worse", "Margins and predictions"] and "Offices" in heads
    assert page.evaluate("document.querySelector('#worse details').open")
    levels = page.eval_on_selector_all("#worse summary .level", "(all) => all.map((one) => one.textContent)")
    assert levels == sorted(levels, key=["error", "warning", "note"].index)


def test_before_and_now_stand_side_by_side(page):
    office = page.locator("article", has_text="Office 1 (office-1)")
    row = office.locator("tr", has_text="usage").first
    assert [cell.text_content().strip() for cell in row.locator("td").all()][2:] == ["4 scfh", "12 scfh"]
    assert row.locator("del").text_content().strip() == "4" and row.locator("ins").text_content().strip() == "12"
    assert office.locator("polyline.pressure.before").count() == office.locator("polyline.pressure:not(.before)").count() > 0
    # What is drawn falls from before to now at the far end.
    before, now = (office.locator(f"polyline.{which}").first.get_attribute("points").split()[-1].split(",") for which in ("pressure.before", "pressure:not(.before)"))
    assert before[0] == now[0] and float(before[1]) < float(now[1])


def test_rows_are_marked_by_a_word_as_well(page):
    office = page.locator("article", has_text="Office 2 (office-2)")
    for deed in ("added", "removed", "changed"):
        cells = office.locator(f"tr.{deed} > td:first-child").all_text_contents()
        assert cells and set(cells) == {deed}


def test_filters_by_key_presses(page):
    everything = rows(page)
    assert page.text_content("#count") == f"{len(everything)} of {len(everything)} rows"
    focus(page, "search")
    page.keyboard.type("office-2")
    found = rows(page)
    assert 0 < len(found) < len(everything)
    assert page.locator("article", has_text="Office 2 (office-2)").is_visible() and page.locator("article", has_text="Office 1 (office-1)").is_hidden()
    page.keyboard.press("Control+A")
    page.keyboard.press("Delete")
    assert rows(page) == everything
    choose(page, "kind", "power")
    assert {kind for kind, _ in rows(page)} == {"power"}
    choose(page, "kind", "")
    choose(page, "level", "warning")
    assert {level for _, level in rows(page)} == {"warning"}
    choose(page, "level", "")
    assert rows(page) == everything
    focus(page, "search")
    page.keyboard.type("no such word")
    assert page.locator("#nothing").is_visible() and rows(page) == []


def test_it_is_read_without_its_script(browser, few):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(few.resolve().as_uri())
    assert page.locator("#ask").is_hidden()
    assert page.locator("article", has_text="Office 1 (office-1)").is_visible()
    assert page.locator("#worse tr").first.is_visible()
    context.close()


def test_nothing_lies_on_anything_else(page):
    assert page.locator("svg.profile").count() > 3
    assert looked(page, "overlaps")[:5] == []
    cut = "[...document.querySelectorAll('td, th, h1, h2, h3, p, summary')].filter((one) => one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0).map((one) => one.textContent.slice(0, 60))"
    assert page.evaluate(cut) == []


def test_a_telephone_scrolls_only_down(page):
    assert not scrolls_sideways(page)


def test_nothing_keeps_anyone_out(page, axe):
    assert violations(page, axe) == []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert pale(page, axe) == [], scheme


def test_hostile_texts_stay_text(page):
    text = page.evaluate("document.body.textContent")
    assert offices.said(offices.HOSTILE[0]) in text
    assert "taken" not in page.title()
    assert page.evaluate("document.querySelectorAll('img, iframe, object, embed, link, base, [style], [onload], [onerror]').length") == 0
    assert page.evaluate("document.querySelectorAll('script').length") == 1
    policy = page.evaluate("document.querySelector('meta[http-equiv]').content")
    assert policy.startswith("default-src 'none'; style-src 'sha256-") and "unsafe" not in policy


def test_the_policy_holds_where_something_gets_in(tabs, few, tmp_path):
    """The check above can fail: a script that is not ours is refused and reported."""
    smuggled = tmp_path / "smuggled.html"
    smuggled.write_text(few.read_text(encoding="utf-8").replace("<main>", "<main><script>document.title='taken'</script>", 1), encoding="utf-8")
    page = tabs.open(smuggled)
    assert page.title() != "taken" and any("Content Security Policy" in said for said in page.said)
    tabs.close(page)


def test_paper_has_what_is_folded_up(tabs, many, tmp_path):
    page = tabs.open(many[0])
    assert not page.evaluate("document.querySelector('#worse details').open")
    page.pdf(path=tmp_path / "page.pdf", format="A4", page_ranges="1-4")
    text = "".join(texts_on_paper(tmp_path / "page.pdf"))
    assert text.count(".office:") > 20
    tabs.close(page)


def test_three_hundred_offices_fit_on_a_page_that_says_what_is_cut(tabs, many):
    bounded, everything = many
    assert bounded.stat().st_size < 4_000_000
    page = tabs.open(bounded)
    cut = page.text_content("p.cut")
    assert "are not on this page" in cut and "--output html=FILE --all" in cut
    assert page.locator("figure").count() <= 60
    full = tabs.open(everything)
    assert full.locator("p.cut").count() == 0
    # Both count the same results, however many rows each has.
    assert page.text_content("#worse h2") == full.text_content("#worse h2")
    assert full.locator("article.office").count() == 300
    for one in (page, full):
        assert one.said == []
        tabs.close(one)


def test_what_is_cut_is_counted(tabs, crowded):
    bounded = tabs.open(crowded[0])
    asked = ["tr[data-kind]", "figure", "article.office", "#gone details.group"]
    rows, pictures, shown, gone = (bounded.locator(which).count() for which in asked)
    # The other is so long that it is counted without being laid out.
    counted = "([text, asked]) => { const all = new DOMParser().parseFromString(text, 'text/html'); return asked.map((one) => all.querySelectorAll(one).length); }"
    all_rows, all_pictures, total, all_gone = bounded.evaluate(counted, [crowded[1].read_text(encoding="utf-8"), asked])
    assert shown < total and rows < all_rows
    said = bounded.locator("main > p.cut").text_content()
    assert f"{all_rows - rows} rows and {all_pictures - pictures} pictures are not on this page" in said
    assert f"{total - shown} more offices are not on this page" in bounded.locator("#offices > p.cut").text_content()
    # Of each rule one row is shown, and counted as shown.
    assert gone == all_gone > 0
    tabs.close(bounded)


def test_files_that_cannot_be_compared_come_first(tabs, tmp_path):
    parts = {f"parts/p{at:02}.office": f"part d{at} : dryer {{ capacity {at + 10} scfh }}\n" for at in range(20)}
    base = write(tmp_path / "base", {"a.office": EXAMPLE, **parts})
    head = write(tmp_path / "head", {"a.office": leaking(EXAMPLE), **parts})
    for name in parts:
        (base / name).write_bytes(b"part \xff\n")
    page = tabs.open(page_of(base, head, tmp_path / "page.html"))
    assert page.locator("h2").first.text_content() == "Not compared: 20"
    cells = page.locator("#not-compared tbody td:first-child").all_text_contents()
    assert cells == sorted(parts) and page.locator("#not-compared").is_visible()
    choose(page, "kind", "not-compared")
    assert len(rows(page)) == 20
    assert page.said == []
    tabs.close(page)


def test_a_page_without_filters_is_printed(tabs, tmp_path):
    base = write(tmp_path / "base", {"a.office": EXAMPLE})
    shutil.copytree(base, tmp_path / "head")
    page = tabs.open(page_of(base, tmp_path / "head", tmp_path / "page.html"))
    text = page.content()
    assert "Nothing changed in any of 1 office." in text and "<table" not in text
    page.evaluate("dispatchEvent(new Event('beforeprint')); dispatchEvent(new Event('afterprint'))")
    assert page.said == []
    tabs.close(page)


def test_what_a_reader_unfolded_stays_so_after_printing(page):
    details = page.locator("details")
    folded = [at for at in range(details.count()) if not details.nth(at).evaluate("(one) => one.open")]
    assert len(folded) > 1
    details.nth(folded[0]).locator("summary").click()
    states = "() => [...document.querySelectorAll('details')].map((one) => one.open)"
    before = page.evaluate(states)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert all(page.evaluate(states))
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.evaluate(states) == before and not all(before)
