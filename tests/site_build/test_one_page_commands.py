"""Commands that read one page of a stranger's folder (plan, record, adjust): they read it as a build does.

The limits and links are those of test_hostile_folder.py; what forges obey is common practice, no source.
"""

import os
import re
import subprocess
from io import BytesIO

import pytest
from PIL import Image

from tests.site_build.clone import assert_one_line, run

PAGE = "methods/soy-eggs.md"
COMMANDS = {
    "plan": ("plan", PAGE, "--start", "2026-11-02 08:00"),
    "record": ("record", PAGE, "--on", "2026-11-02", "--batch", "1 kg"),
    "adjust": ("adjust", PAGE, "--used"),
}
RUN = "methods/runs/soy-eggs/2026-01-02.yml"


def _large(clone, name):
    (clone / name).parent.mkdir(parents=True, exist_ok=True)
    with open(clone / name, "wb") as file:
        file.truncate(20_000_000_000)


def _link(clone, name):
    place = clone / name
    place.parent.mkdir(parents=True, exist_ok=True)
    kept = clone.parent / "kept"
    if place.exists():
        place.rename(kept)
    else:
        kept.write_text("secret: words\n")
    place.symlink_to(kept)


HARMS = {
    **{f"large {name}": (_large, name) for name in (PAGE, "methods/house.yml", "methods/foods.csv", RUN)},
    **{f"link {name}": (_link, name) for name in (PAGE, "methods/house.yml", "methods/foods.csv", RUN, "methods/runs")},
}


@pytest.mark.parametrize("harm", HARMS)
@pytest.mark.parametrize("command", COMMANDS)
def test_read_as_a_build_reads(clone, command, harm):
    """What a build refuses is refused in one line before it is read."""
    make, name = HARMS[harm]
    make(clone, name)
    result = run(*COMMANDS[command])
    assert_one_line(result)
    assert "secret" not in result.stderr


@pytest.mark.parametrize("command", COMMANDS)
def test_what_the_page_does_not_need(clone, command):
    """1,100 folders within each other, and a link beside, keep nobody from a sound page."""
    (clone / "methods" / "other.md").symlink_to("/etc/hostname")
    here = os.open(clone / "methods", os.O_RDONLY)
    for _ in range(1100):
        os.mkdir("d", dir_fd=here)
        inside = os.open("d", os.O_RDONLY, dir_fd=here)
        os.close(here)
        here = inside
    os.close(here)
    try:
        result = run(*COMMANDS[command])
    finally:  # the test runner's own tidying up would run out of depth
        subprocess.run(["rm", "-rf", str(clone / "methods" / "d")], check=True)
    assert result.exit_code == 0, result.output


def test_name_that_is_no_text(clone):
    """A page whose name is no UTF-8 is one line that can be printed."""
    name = os.fsdecode(b"methods/\xff.md")
    (clone / PAGE).rename(clone / name)
    assert_one_line(run("record", name, "--on", "2026-11-02"))


@pytest.mark.parametrize("command", ["plan", "adjust"])
def test_no_command_for_a_forge(clone, command):
    """Titles and steps that a forge would take for its commands are parted."""
    words = (clone / PAGE).read_text("utf-8")
    words = re.sub(r"^title: .*$", "title: '::warning ::##[group]x'", words, flags=re.M)
    (clone / PAGE).write_text(words, "utf-8")
    said = run(*COMMANDS[command]).output
    assert "warning" in said or command == "adjust"
    assert not re.search(r"^\s*::|##\[", said, re.M), said


LONG = "x" * 300
NAMES = {
    "new": ("new", f"methods/{LONG}.md"),
    "check": ("check", LONG),
    "build": ("build", LONG),
    "preview": ("preview", LONG),
    "paper": ("paper", LONG),
    "plan": ("plan", f"{LONG}.md", "--start", "2026-11-02 08:00"),
    "record": ("record", f"{LONG}.md"),
    "record, sheet": ("record", PAGE, "--paper", f"{LONG}.html"),
    "adjust": ("adjust", f"{LONG}.md", "--used"),
    "day": ("day", f"methods/days/{LONG}.yml"),
    "sign": ("sign", "soy-eggs", "--by", "Odd", "--folder", LONG),
}


@pytest.mark.parametrize("command", NAMES)
def test_name_that_no_system_can_hold(clone, command):
    """A path that the system refuses to look up is one line."""
    result = run(*NAMES[command])
    assert isinstance(result.exception, SystemExit) and result.exit_code
    assert 0 < len(result.stderr.strip().splitlines()) <= 2


# What a check lets pass is built.


def _signed(clone):
    (clone / "methods" / "signed.yml").write_text("- {method: none, mark: 000000-000000, by: Odd, on: 2026-01-02}\n")


def _cut(kind):
    def cut(clone):
        whole = BytesIO()
        Image.effect_noise((400, 300), 50).save(whole, kind)
        data = whole.getvalue()
        (clone / "methods" / f"a.{kind.lower()}").write_bytes(data[: len(data) // 2])

    return cut


def _character(number):
    def write(clone):
        (clone / PAGE).write_text(
            (clone / PAGE).read_text("utf-8") + f"\n\nWords &#{number:#x}; on.\n".replace("0x", "x")
        )

    return write


FAULTY = {
    "signature of no method": (_signed, "methods/signed.yml:1: signed.method: read"),
    "half a JPEG": (_cut("JPEG"), 'methods/a.jpeg:1: picture: read "a broken picture"'),
    "half a GIF": (_cut("GIF"), 'methods/a.gif:1: picture: read "a broken picture"'),
    "half a PNG": (_cut("PNG"), "methods/a.png:1: picture: read"),
    "half a WebP": (_cut("WEBP"), "methods/a.webp:1: picture: read"),
    "order turned by a reference": (_character(0x202E), 'text: read "the character U+202E"'),
    "control character by a reference": (_character(0x1B), 'text: read "the character U+001B"'),
    "line separator by a reference": (_character(0x2028), 'text: read "the character U+2028"'),
}


@pytest.mark.parametrize("name", FAULTY)
def test_check_says_what_a_build_says(clone, name):
    """A signature, a picture and a character that a build refuses are told by a check in the same line."""
    spoil, wanted = FAULTY[name]
    spoil(clone)
    checked, built = run("check", "methods", "--workers", "1"), run("build", "methods", "--workers", "1")
    for result in (checked, built):
        assert_one_line(result)
        assert wanted in result.stderr
    assert checked.stderr == built.stderr
    assert not (clone / "site").exists()
