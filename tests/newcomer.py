"""Plays a new team: from an empty folder to a published site, a branch with a change and its report, and the merged change.

    python -m tests.newcomer              with what is installed here
    python -m tests.newcomer --clean      in a clean virtual environment, with the wheel of this repository
    python -m tests.newcomer --clean --hashes   the same, every package pinned by its hash, with the examples' own files
    python -m tests.newcomer --forge gitlab     the other forge's file

Git is local: a bare repository plays the forge, and the steps of the begun workflow files are run as the forge would.
Each command is printed, and the minutes at the end. The typing is played too: each blank is filled in with its example.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from msgspec import Struct, field

from tests.acted_forge import Forge, machine
from tests.acted_pipeline import PipelineForge

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = ROOT / ".examples"
FORGES = {"github": Forge, "gitlab": PipelineForge}
#: A blank of a starter page, with its example.
BLANK = re.compile(r"<[^<>]*such as ([^<>]*)>")
#: Who commits.
WHO = {
    f"GIT_{role}_{what}": value
    for role in ("AUTHOR", "COMMITTER")
    for what, value in (("NAME", "New Cook"), ("EMAIL", "cook@kitchen.example"))
}


class Played(Struct, kw_only=True):
    """What was done and what came of it."""

    commands: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    report: str = ""
    published: str = ""
    published_again: str = ""
    preview: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()
    seconds: float = 0.0


def play(
    place: Path, wheels: Path | None = None, *, family: str = "hot-smoke", change: tuple[str, str] = ("160 g", "190 g"),
    at_top: bool = False, forge: str = "github", hashed: bool = False, ready: Path | None = None,
    tell: Callable[[str], None] = lambda line: None,
) -> Played:  # fmt: skip
    """Play the newcomer in the empty folder ``place``. Raises CalledProcessError or StepFailed where a command fails."""
    started, played = time.monotonic(), Played()
    environment = {**os.environ, **machine(place / "machine", wheels, ready), **WHO}
    kitchen, origin = place / "team" / "my-kitchen", place / "origin.git"
    kitchen.parent.mkdir()

    def run(line: str, folder: Path = kitchen, code: int = 0) -> str:
        tell(f"$ {line}")
        played.commands.append(line)
        done = subprocess.run(
            ["bash", "-c", line], cwd=folder, env=environment, text=True, check=False, capture_output=True
        )
        if done.returncode != code:
            raise subprocess.CalledProcessError(done.returncode, line, done.stdout, done.stderr)
        return done.stdout + done.stderr

    if wheels is not None:
        run("pip install --quiet cook-method-handbook", place)
    methods = "" if at_top else "methods/"
    run(
        "handbook begin my-kitchen --kitchen 'The Boat Shed' --measures metric --degrees C --currency crowns --audience home "
        f"--place 'European Union' --family {family} --forge {forge}{' --at-top' if at_top else ''}",
        kitchen.parent,
    )
    run("git init --quiet -b main")
    page = kitchen / f"{methods}{family}.md"
    played.asked = [line for line in run("handbook check .", code=1).splitlines() if "nothing yet" in line]
    page.write_text(BLANK.sub(r"\1", page.read_text("utf-8")), "utf-8")
    tell(f"  (fills in the {len(played.asked)} blanks)")
    if hashed:
        run("pip install --quiet uv")
        run(
            f"uv pip compile --quiet --universal --find-links '{wheels}' requirements.in --generate-hashes -o requirements.txt"
        )
        use_examples(kitchen, forge)
        tell("  (takes the examples' files, which install nothing without a hash)")
    run("handbook check . --strict")
    run("handbook build .")
    # Beside the handbook lies nothing that was not there.
    played.outside = tuple(sorted(each.name for each in kitchen.parent.iterdir() if each != kitchen))
    run("git add . && git commit --quiet -m 'A handbook begins'")
    run(f"git init --quiet --bare -b main '{origin}'", place)
    run(f"git remote add origin '{origin}' && git push --quiet -u origin main")
    # The forge's jobs run on a machine of their own.
    jobs = machine(place / "runner", wheels, ready)
    host = FORGES[forge](place=place, origin=origin, environment=jobs, **({"token": "t"} if forge == "gitlab" else {}))
    tell("  (the forge publishes main)")
    host.push(run("git rev-parse HEAD").strip())
    published = host.published / f"{family}.html"
    played.published = published.read_text("utf-8")

    run("git switch --quiet -c more-salt")
    page.write_text(page.read_text("utf-8").replace(f"amount: {change[0]}", f"amount: {change[1]}"), "utf-8")
    run("handbook compare main --gate stops --folder .")
    run("git commit --quiet -am 'More salt in the brine' && git push --quiet origin more-salt")
    tell("  (the forge checks the branch)")
    base, head = run("git rev-parse main more-salt").split()
    host.merge_request(head, base)
    played.report = host.report.read_text("utf-8")
    played.preview = tuple(sorted(path.name for path in host.preview.glob("*.html")))
    run(
        "git switch --quiet main && git merge --quiet --no-ff -m 'More salt in the brine' more-salt && git push --quiet"
    )
    tell("  (the forge publishes main)")
    host.push(run("git rev-parse HEAD").strip())
    played.published_again = published.read_text("utf-8")
    played.seconds = time.monotonic() - started
    return played


def use_examples(kitchen: Path, forge: str) -> None:
    """Put the examples' own files in the place of the begun ones, for methods in a folder."""
    for example in (EXAMPLES / forge).iterdir():
        to = kitchen / (".gitlab-ci.yml" if forge == "gitlab" else f".github/workflows/{example.name}")
        to.write_bytes(example.read_bytes())


def main() -> None:
    """Play it and print the commands, the report and the minutes."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--clean", action="store_true", help="install the wheel and all it needs by pip, from an index")
    parser.add_argument("--at-top", action="store_true", help="methods at the top of the repository")
    parser.add_argument("--forge", choices=tuple(FORGES), default="github", help="whose file runs")
    parser.add_argument("--hashes", action="store_true", help="with --clean: pin every package by its hash, with uv")
    choices = parser.parse_args()
    if choices.hashes and (not choices.clean or choices.at_top):
        parser.error("--hashes goes with --clean and with methods in a folder")
    with tempfile.TemporaryDirectory() as folder:
        place, wheels = Path(folder), None
        if choices.clean:
            wheels = place / "wheels"
            subprocess.run(
                [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", str(wheels), str(ROOT)], check=True
            )
        played = play(place, wheels, at_top=choices.at_top, forge=choices.forge, hashed=choices.hashes, tell=print)
    print(f"\nThe report on the branch:\n\n{played.report}")
    print(
        f"{len(played.commands)} commands, {len(played.asked)} blanks, {played.seconds / 60:.1f} minutes without typing"
    )


if __name__ == "__main__":
    main()
