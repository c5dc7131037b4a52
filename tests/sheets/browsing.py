"""What the tests do in a browser: open a page and note what it says, go to a field by keys, ask what lies where."""

import pathlib

import pypdfium2
import pytest

LOOKS = (pathlib.Path(__file__).parent / "looks.js").read_text(encoding="utf-8")


class Tabs:
    """Tabs of a browser, each used for one page after the other: a new one costs three times what a page does."""

    def __init__(self, browser):
        self.context = browser.new_context()
        self.free = []

    def open(self, path, beside=None):
        """A page in a window of ordinary size. `said` has what the browser reports of it, and all that it fetches but files beside it whose
        names begin with `beside`."""
        page = self.free.pop() if self.free else self._new()
        page.said.clear()
        page.expected = beside and path.resolve().with_name(beside).as_uri()
        page.set_viewport_size({"width": 1000, "height": 900})
        page.emulate_media(media="null", color_scheme="null")
        page.goto(path.resolve().as_uri())
        return page

    def close(self, page):
        # Whatever the page still says, the next one in this tab did not say.
        page.goto("about:blank")
        self.free.append(page)

    def _new(self):
        page = self.context.new_page()
        page.said, page.expected = [], None

        def fetched(request):
            is_page = request.is_navigation_request() and request.frame == page.main_frame
            if not is_page and not (page.expected and request.url.startswith(page.expected)):
                page.said.append(request.url)

        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("request", fetched)
        page.add_init_script("addEventListener('securitypolicyviolation', (event) => console.log('policy: ' + event.violatedDirective))")
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


COLOURS = ["color-contrast", "link-in-text-block"]
"""The rules of axe-core that ask how colours differ. They take most of its time."""


def violations(page, axe):
    """What axe-core finds that keeps somebody out, but for colours."""
    return _violations(page, axe, {"rules": {rule: {"enabled": False} for rule in COLOURS}})


def pale(page, axe):
    """What axe-core finds too pale to be read, or told from other text by its colour alone."""
    return _violations(page, axe, {"runOnly": COLOURS})


def _violations(page, axe, asked):
    if not page.evaluate("'axe' in window"):
        page.evaluate(axe)
    # Of what is well, one place of each kind will do.
    found = page.evaluate("(asked) => axe.run(asked)", {**asked, "resultTypes": ["violations"], "selectors": False})
    assert found["passes"], "nothing was looked at"
    return [(one["id"], len(one["nodes"]), one["nodes"][0]["html"][:200]) for one in found["violations"]]


def texts_on_paper(file):
    """The text of each page of a PDF."""
    with pypdfium2.PdfDocument(file) as document:
        return [page.get_textpage().get_text_range() for page in document]


def scrolls_sideways(page):
    """Whether a telephone would have to scroll the page sideways."""
    page.set_viewport_size({"width": 360, "height": 740})
    return page.evaluate("document.documentElement.scrollWidth") > 360
