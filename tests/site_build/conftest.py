"""What the tests of the generator share."""

import pytest

from tests.site_build.browser import Tabs, chromium
from tests.site_build.clone import clone, kept_clone, victim  # noqa: F401


@pytest.fixture(scope="session")
def browser():
    """One browser for all tests: starting it takes longer than most of them."""
    with chromium() as found:
        yield found


@pytest.fixture(scope="session")
def tabs(browser):
    """Tabs of that browser, lent from test to test (tests/site_build/browser.py)."""
    return Tabs(browser)


@pytest.fixture(scope="module")
def tab(tabs):
    """One tab for a file of tests that keep nothing in the browser."""
    with tabs.lend() as lent:
        yield lent
