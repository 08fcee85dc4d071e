"""A site that stands while its handbook has changed: what every fault of a build is tried on."""

from __future__ import annotations

import json
import shutil
import subprocess
import time
from pathlib import Path

from msgspec import Struct

from site_build.base.files import path_text
from site_build.base.store import Store
from site_build.build.site_record import identity, read_record
from tests.building import (
    CACHE,
    Ended,
    assert_clear,
    assert_same,
    assert_whole,
    build,
    clean_build,
    environment,
    small_handbook,
    start,
    tree,
)


class Trees(Struct, frozen=True, kw_only=True):
    """The clean site of the handbook before and after its change, and how long a build over the standing site takes."""

    home: Path
    before: dict[str, str]
    after: dict[str, str]
    seconds: float

    def stand(self, place: Path) -> Stand:
        """A place of its own in the new folder ``place``: site and cache from before, the handbook after its change."""
        shutil.copytree(self.home, place, symlinks=True)
        stand = Stand(place=place, trees=self)
        move_in(stand, self.home)
        change(stand.folder)
        return stand


class Stand(Struct, frozen=True, kw_only=True):
    """One place with a handbook that has changed since its site was built."""

    place: Path
    trees: Trees

    @property
    def folder(self) -> Path:
        """The handbook."""
        return self.work / "methods"

    @property
    def site(self) -> Path:
        """Its site."""
        return self.work / "site"

    @property
    def work(self) -> Path:
        """What holds both."""
        return self.place / "work"

    @property
    def cache(self) -> Path:
        """What builds keep of handbooks."""
        return self.place / CACHE / "handbooks"

    @property
    def records(self) -> Path:
        """What builds keep of sites."""
        return self.place / CACHE / "sites"

    def environment(self, **more: str) -> dict[str, str]:
        """The environment of its builds."""
        return environment(XDG_CACHE_HOME=str(self.place), **more)

    def build(self, *options: str, **more) -> Ended:
        """Build the handbook over its site."""
        more.setdefault("env", self.environment())
        return build(self.folder, self.site, *options, **more)

    def start(self, *options: str, site: Path | None = None, **more) -> subprocess.Popen:
        """The same, not waited for; into another ``site`` where one is named."""
        return start(
            "build", self.folder, "--into", site or self.site, "--quiet", *options, env=self.environment(), **more
        )

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
        left = {path.name for path in self.work.iterdir()} - {"methods", "site"}
        assert not left, f"left beside the site: {sorted(left)}"


def move_in(stand: Stand, home: Path) -> None:
    """What was kept of handbook and site at ``home``, whose copy the stand is, is kept of them at their new places."""
    store = Store(root=stand.place / CACHE)
    old, new = home.resolve() / "work", stand.work.resolve()
    kept = store.of_handbook(new / "methods")
    shutil.copytree(store.of_handbook(old / "methods"), kept, dirs_exist_ok=True)
    (kept / "handbook.json").write_text(json.dumps(path_text(new / "methods")), "utf-8")
    made = read_record(store.of_site(old / "site"), old / "site").made
    now = identity(new / "site")
    assert now.hash in [each.hash for each in made], "the site's record is not kept"
    read_record(store.of_site(new / "site"), new / "site").write([now])
    store.of_site(old / "site").unlink()
    shutil.rmtree(store.of_handbook(old / "methods"))


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
    folder = small_handbook(home / "work" / "methods")
    ended = build(folder, home / "work" / "site", env=environment(XDG_CACHE_HOME=str(home)))
    assert ended.code == 0 and ended.errors == "", ended
    assert_whole(home / "work" / "site")
    changed = place / "changed"
    shutil.copytree(folder, changed / "methods")
    change(changed / "methods")
    after = clean_build(changed / "methods", place / "clean")
    assert_whole(after)
    trial = Trees(home=home, before=tree(home / "work" / "site"), after=tree(after), seconds=0).stand(place / "trial")
    started = time.monotonic()
    assert trial.build().code == 0
    return Trees(home=home, before=trial.trees.before, after=trial.trees.after, seconds=time.monotonic() - started)


def _replace(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(old) == 1, (path.name, old)
    path.write_text(text.replace(old, new), "utf-8")
