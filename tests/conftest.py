"""What several tests share: the demo handbook, built once."""

from pathlib import Path

import pytest
from hypothesis import settings

from site_build.build.build_site import Choices, build_site

# No clock decides a test, and every run tries the same cases.
settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")

METHODS = Path(__file__).resolve().parent.parent / "methods"


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """What builds of the tests keep lies in a folder of their own, not the user's (site_build/base/store.py)."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture(scope="session")
def methods_folder() -> Path:
    """The demo handbook's content."""
    return METHODS


@pytest.fixture(scope="session")
def demo_site(tmp_path_factory) -> Path:
    """The demo handbook as a site, built strictly."""
    site = tmp_path_factory.mktemp("demo") / "site"
    build_site(METHODS, site, Choices(strict=True, shows_progress=False))
    return site
