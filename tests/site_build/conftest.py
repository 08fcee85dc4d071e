"""What the tests of the generator share."""

import pytest

from tests.site_build.clone import clone, victim  # noqa: F401
from tests.whole_book import read_book


@pytest.fixture(scope="session")
def demo_book(methods_folder):
    """The demo handbook, read and computed once."""
    return read_book(methods_folder)
