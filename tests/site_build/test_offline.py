"""The copy to keep: manifest, list of files with hashes, the worker's version."""

import json
import re
from hashlib import sha256

import pytest

from site_build.build.assembly import file_hash, site_files
from site_build.outputs.offline import BUILD_LIST, MANIFEST, WORKER, kept_files, manifest, write_offline


def hashes(site):
    """Path and SHA-256 of every file of a site."""
    return {path: file_hash(site / path) for path in site_files(site)}


def listed(site):
    """Version and list of files of a site's worker."""
    script = (site / WORKER).read_text("utf-8")
    files = json.loads(re.search(r"^const FILES = (\{.*?\});$", script, re.S | re.M)[1])
    return re.search(r'^const VERSION = "([0-9a-f]+)";$', script, re.M)[1], files


def test_worker_lists_the_whole_site(demo_site):
    """Every page, style, script, font and picture is listed with the start of its SHA-256, and no other file."""
    _, files = listed(demo_site)
    for name, digest in files.items():
        assert sha256((demo_site / name).read_bytes()).hexdigest().startswith(digest) and len(digest) == 24
    there = {path.relative_to(demo_site).as_posix() for path in demo_site.rglob("*") if path.is_file()}
    not_for_reading = {name for name in there if name.startswith("schemas/")} | {"figures.json", BUILD_LIST}
    assert there - set(files) - not_for_reading <= {WORKER, "feed.xml", "sitemap.xml", "sitemap.xml.gz"}
    assert {"index.html", "404.html", MANIFEST, "assets/search_index.js", "assets/icon.svg"} <= set(files)


def test_worker_version_follows_the_files(tmp_path):
    """The same files give the same worker to the byte; one changed letter gives another version."""
    (tmp_path / "index.html").write_text("one")
    write_offline(hashes(tmp_path), tmp_path)
    first = (tmp_path / WORKER).read_bytes()
    write_offline(hashes(tmp_path), tmp_path)
    assert (tmp_path / WORKER).read_bytes() == first
    before = listed(tmp_path)[0]
    (tmp_path / "index.html").write_text("two")
    write_offline(hashes(tmp_path), tmp_path)
    assert listed(tmp_path)[0] != before


def test_kept_files_leave_out_what_is_not_read():
    """The worker itself, hidden files and files for machines are not kept."""
    names = (
        WORKER,
        ".hidden",
        "sitemap.xml.gz",
        "feed.xml",
        "schemas/page.json",
        "figures.json",
        BUILD_LIST,
        "a b.html",
    )
    assert list(kept_files(dict.fromkeys(names, "0" * 64))) == ["a b.html"]


def test_build_list_names_every_file(demo_site):
    """The build's own list holds the SHA-256 of every file of the site but itself."""
    said = json.loads((demo_site / BUILD_LIST).read_text("utf-8"))["files"]
    assert said == {path: mark for path, mark in hashes(demo_site).items() if path != BUILD_LIST}


def test_manifest_members():
    """The manifest has the members that a browser asks for (W3C Web Application Manifest)."""
    data = json.loads(manifest("The Loft, a kitchen", "", None))
    assert data["name"] == "The Loft, a kitchen" and data["short_name"] == "The Loft"
    assert data["display"] in ("standalone", "minimal-ui", "fullscreen", "browser")
    assert data["start_url"] == "index.html" and data["scope"] == "./"
    assert all(re.fullmatch(r"#[0-9a-f]{6}", data[name]) for name in ("theme_color", "background_color"))
    assert data["icons"][0]["type"] == "image/svg+xml" and data["icons"][0]["sizes"] == "any"


def test_manifest_icon_is_there(demo_site):
    """The manifest's icon is a file of the site."""
    data = json.loads((demo_site / MANIFEST).read_text("utf-8"))
    assert all((demo_site / icon["src"]).is_file() for icon in data["icons"])


@pytest.mark.parametrize("kitchen", ['The "Loft"', "Küche", "x" * 80])
def test_manifest_takes_any_name(kitchen):
    """Any kitchen's name makes a manifest that reads back."""
    assert json.loads(manifest(kitchen, "", None))["name"] == kitchen
