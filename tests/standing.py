"""A site that stands while its handbook has changed: what every fault of a build is tried on."""

from __future__ import annotations

import shutil
import time
from dataclasses import dataclass
from pathlib import Path

from tests.building import (
    CACHE,
    Ended,
    assert_clear,
    assert_same,
    assert_whole,
    build,
    clean_build,
    small_handbook,
    tree,
)


@dataclass(frozen=True)
class Trees:
    """The clean site of the handbook before and after its change, and how long a build over the standing site takes."""

    home: Path
    before: dict[str, str]
    after: dict[str, str]
    seconds: float

    def stand(self, place: Path) -> Stand:
        """A place of its own in the new folder ``place``: site and cache from before, the handbook after its change."""
        shutil.copytree(self.home, place, symlinks=True)
        change(place / "methods")
        return Stand(place, self)


@dataclass(frozen=True)
class Stand:
    """One place with a handbook that has changed since its site was built."""

    place: Path
    trees: Trees

    @property
    def folder(self) -> Path:
        """The handbook."""
        return self.place / "methods"

    @property
    def site(self) -> Path:
        """Its site."""
        return self.place / "site"

    @property
    def cache(self) -> Path:
        """What builds keep beside the handbook."""
        return self.place / CACHE

    def build(self, *options: str, **more) -> Ended:
        """Build the handbook over its site."""
        return build(self.folder, self.site, *options, **more)

    def assert_good(self) -> None:
        """The site is whole, and either the one from before or the new one, never a mixture."""
        assert self.site.is_dir(), "the site is gone"
        found = tree(self.site)
        if found not in (self.trees.before, self.trees.after):
            assert_whole(self.site)
            assert_same(found, self.trees.before if self.trees.before.items() & found.items() else self.trees.after)

    def assert_ended_well(self, ended: Ended, most_lines: int = 1) -> None:
        """Either the new site, or a clear refusal that leaves the old one."""
        if ended.code == 0:
            assert "Traceback" not in ended.errors, ended.errors
            assert_same(tree(self.site), self.trees.after)
        else:
            assert_clear(ended, most_lines)
            assert_same(tree(self.site), self.trees.before)

    def assert_mends(self) -> None:
        """With the fault gone, the next build gives the new site, says nothing and leaves nothing else behind."""
        ended = self.build()
        assert ended.code == 0 and ended.errors == "", ended
        assert_same(tree(self.site), self.trees.after)
        assert_whole(self.site)
        left = {path.name for path in self.place.iterdir()} - {"methods", "site", CACHE}
        assert not left, f"left beside the site: {sorted(left)}"


def change(folder: Path) -> None:
    """Change a method's aim, a plain page and a price, remove a method, add a page."""
    _replace(folder / "soy-eggs.md", "target_salt: 1.6 % of all", "target_salt: 1.7 % of all")
    _replace(folder / "notes/bench.md", "See [the eggs]", "See first of all [the eggs]")
    _replace(folder / "house.yml", '"salt, fine sea", price: 1.90', '"salt, fine sea", price: 2.10')
    (folder / "dry-cured-duck.md").unlink()
    (folder / "notes/tub.md").write_text("# The tub\n\nScald it. Then [the bench](bench.md).\n", "utf-8")


def prepare(place: Path) -> Trees:
    """Build the small handbook before and after its change, each clean, in the new folder ``place``."""
    home = place / "home"
    folder = small_handbook(home / "methods")
    ended = build(folder, home / "site")
    assert ended.code == 0 and ended.errors == "", ended
    assert_whole(home / "site")
    changed = place / "changed"
    shutil.copytree(folder, changed / "methods")
    change(changed / "methods")
    after = clean_build(changed / "methods", place / "clean")
    assert_whole(after)
    trial = Trees(home, tree(home / "site"), tree(after), 0).stand(place / "trial")
    started = time.monotonic()
    assert trial.build().code == 0
    return Trees(home, trial.trees.before, trial.trees.after, time.monotonic() - started)


def _replace(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(old) == 1, (path.name, old)
    path.write_text(text.replace(old, new), "utf-8")
