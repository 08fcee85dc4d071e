"""Links and folders that a clone brings under names of ours, or in the way of a site, lead no build to a victim's files."""

import os

import pytest

from site_build.base.places import own_tree, real_place
from tests.site_build.clone import assert_one_line, everything, run

# ---- links and folders under names of ours ----

#: Links that one clone can hold at a time.
LINKS = [
    [".site-building", ".site-old", ".site-lock", ".site-0123456789abcdef", ".handbook-cache"],
    [".handbook-cache/preview", ".handbook-cache/preview.lock", ".handbook-cache/history.json", ".handbook-cache/pages.sqlite"],
    [".handbook-cache/preview/site", ".handbook-cache/preview/.site-building", ".handbook-cache/preview/.site-old"],
    ["site/assets"],
]  # fmt: skip

pytestmark = pytest.mark.usefixtures("kept_clone")


@pytest.mark.parametrize("aim", ["folder", "file", "nothing"])
@pytest.mark.parametrize("names", LINKS, ids=[names[0] for names in LINKS])
def test_links_of_the_clone(clone, victim, tmp_path, names, aim):
    """Links in the clone under names that builds use, or used, lead no build to the victim's files."""
    places = [clone / name for name in names]
    for place in places:
        place.parent.mkdir(parents=True, exist_ok=True)
        place.symlink_to({"folder": victim, "file": victim / "letter.txt", "nothing": tmp_path / "not-there"}[aim])
    before = everything(victim)
    result = run("build", "methods", "--quiet", "--into", "site")
    assert result.exit_code == 0 or names == ["site/assets"], result.output
    assert all(place.is_symlink() for place in places)
    assert everything(victim) == before and not (tmp_path / "not-there").exists()


@pytest.mark.parametrize("name", ["site", "public", "out/site", "out/deep/site"])
@pytest.mark.parametrize("aim", ["folder", "empty", "file", "nothing", "itself"])
@pytest.mark.parametrize("part", ["last", "first"])
def test_site_through_a_link(clone, victim, tmp_path, name, aim, part):
    """``--into`` is not followed through a link of the clone, wherever in the path it stands."""
    (tmp_path / "empty").mkdir()
    aims = {"folder": victim, "empty": tmp_path / "empty", "file": victim / "letter.txt", "nothing": tmp_path / "no"}
    place = clone / (name if part == "last" else name.split("/")[0])
    place.parent.mkdir(parents=True, exist_ok=True)
    place.symlink_to(aims.get(aim, place.name))
    before = everything(victim)
    result = run("build", "methods", "--quiet", "--into", name)
    assert_one_line(result)
    assert "a link" in result.stderr
    assert everything(victim) == before and place.is_symlink()
    assert not (tmp_path / "no").exists() and not list((tmp_path / "empty").iterdir())


def test_site_through_a_link_and_back(clone, victim):
    """``link/../site`` goes where the system would go: to the folder beside what the link leads to."""
    (clone / "link").symlink_to(victim)
    before = everything(victim.parent / "victim")
    assert_one_line(run("build", "methods", "--quiet", "--into", "link/../site"))
    assert everything(victim) == before and not (victim.parent / "site").exists() and not (clone / "site").exists()


def test_users_own_link_outside_is_followed(clone, tmp_path):
    """A link that the user made elsewhere, such as a web server's folder, leads to the site."""
    (tmp_path / "served").symlink_to(tmp_path / "real")
    assert run("build", "methods", "--quiet", "--into", tmp_path / "served").exit_code == 0
    assert (tmp_path / "real" / "index.html").is_file() and (tmp_path / "served").is_symlink()


def test_link_outside_that_leads_back_through_the_clone(clone, victim, tmp_path):
    """A link of the clone is refused where it is reached through one of the user's too."""
    (clone / "site").symlink_to(victim)
    (tmp_path / "served").symlink_to(clone / "site")
    before = everything(victim)
    assert_one_line(run("build", "methods", "--quiet", "--into", tmp_path / "served"))
    assert everything(victim) == before


def test_methods_that_are_a_link(clone, tmp_path):
    """The methods folder of the clone is no link to a folder elsewhere, whose pages would be published."""
    (clone / "methods").rename(tmp_path / "private")
    (clone / "methods").symlink_to(tmp_path / "private")
    for command in (["build", "methods", "--quiet"], ["check", "methods"]):
        assert_one_line(run(*command))
    assert not (clone / "site").exists()


def test_own_tree(clone, tmp_path, monkeypatch):
    """The git work tree, the outer one of a submodule; without git the folder around, but never the user's home."""
    folder = clone / "methods"
    assert own_tree(folder) == clone
    (clone / "sub" / "methods").mkdir(parents=True)
    (clone / "sub" / ".git").write_text("gitdir: ../.git/modules/sub\n")
    assert own_tree(clone / "sub" / "methods") == clone
    (clone / ".git").rmdir()
    assert own_tree(clone / "sub" / "methods") == clone / "sub"
    assert own_tree(folder) == clone
    monkeypatch.setenv("HOME", str(clone))
    assert own_tree(folder) == folder
    monkeypatch.setenv("HOME", str(clone / "home" / "cook"))
    assert own_tree(folder) == folder


def test_real_place_goes_as_the_system_goes(tmp_path):
    """For paths without a link of a clone it is what os.path.realpath gives."""
    (tmp_path / "a" / "b").mkdir(parents=True)
    (tmp_path / "one").symlink_to("a/b")
    (tmp_path / "two").symlink_to(tmp_path / "one")
    (tmp_path / "up").symlink_to("../" + tmp_path.name + "/a")
    for path in ("a", "one/x", "two", "two/../b", "up/b/../..", "no/such", "./one/./x", "one/../../a"):
        assert str(real_place(tmp_path / path)) == os.path.realpath(tmp_path / path), path
