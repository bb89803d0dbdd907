"""A browser for the tests of the page, and pages in it that must not go wrong."""

import pytest

from page.support import SIZES, chromium


@pytest.fixture(scope="session")
def browser(root):
    (root / "build" / "page").mkdir(parents=True, exist_ok=True)
    with chromium() as found:
        yield found


@pytest.fixture
def open_page(browser):
    """Opens a page in a browser of its own, and sees at the end that nothing went wrong in any."""
    contexts, wrong = [], []

    def open_one(url, size="tablet", scheme="light", script="", routes=()):
        context = browser.new_context(
            viewport=dict(zip(("width", "height"), SIZES[size], strict=True)), color_scheme=scheme
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        # A policy that is broken is told there; a lost server is a failed request, which is no mistake.
        page.on(
            "console",
            lambda said: (
                wrong.append(said.text) if said.type == "error" and "Failed" not in said.text else None
            ),
        )
        if script:
            page.add_init_script(script)
        for pattern, handler in routes:
            page.route(pattern, handler)
        page.goto(url)
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert wrong == []


@pytest.fixture(autouse=True)
def notes_of_pages_stay_here(monkeypatch, tmp_path):
    """A page notes which port it owns; those of the tests do so in a folder of their own."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
