"""What the tests of the generator share."""

import pytest

from tests.site_build.browser import chromium
from tests.site_build.clone import clone, kept_clone, victim  # noqa: F401


@pytest.fixture(scope="session")
def browser():
    """One browser for all tests: starting it takes longer than most of them."""
    with chromium() as found:
        yield found
