"""What the tests do in a browser: open a page and note what it says, go to a field by keys, ask what lies where."""

import pytest

from conftest import HERE

LOOKS = (HERE / "looks.js").read_text(encoding="utf-8")


def opened(browser, path, beside=None):
    """A page in a window of ordinary size. `said` has what the browser reports of it, and all that it fetches but files beside it whose
    names begin with `beside`."""
    page = browser.new_page(viewport={"width": 1000, "height": 900})
    page.said = []
    expected = beside and path.resolve().with_name(beside).as_uri()

    def fetched(request):
        is_page = request.is_navigation_request() and request.frame == page.main_frame
        if not is_page and not (expected and request.url.startswith(expected)):
            page.said.append(request.url)

    page.on("console", lambda message: page.said.append(message.text))
    page.on("pageerror", lambda error: page.said.append(str(error)))
    page.on("request", fetched)
    page.add_init_script("addEventListener('securitypolicyviolation', (event) => console.log('policy: ' + event.violatedDirective))")
    page.goto(path.resolve().as_uri())
    return page


def focus(page, id):
    """Goes to a field with the tabulator."""
    page.evaluate("document.activeElement.blur()")
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == id:
            return
    pytest.fail(f"no way to {id}")


def looked(page, question):
    """What a question of looks.js finds on the page."""
    return page.evaluate(f"() => {{ {LOOKS}; return {question}(); }}")


def violations(page, axe):
    """What axe-core finds that keeps somebody out."""
    page.evaluate(axe)
    return page.evaluate("axe.run().then((found) => found.violations.map((one) => [one.id, one.nodes.length, one.nodes[0].html.slice(0, 200)]))")


def scrolls_sideways(page):
    """Whether a telephone would have to scroll the page sideways."""
    page.set_viewport_size({"width": 360, "height": 740})
    return page.evaluate("document.documentElement.scrollWidth") > 360
