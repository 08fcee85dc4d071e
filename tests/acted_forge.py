"""Acts out a forge's workflow file on this machine, as far as the examples use one: its steps in order, each as bash -e."""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct, field

READY = Path(__file__).resolve().with_name("ready.py")
_VALUES = re.compile(r"\$\{\{\s*([\w.]+)\s*\}\}")


class StepFailed(Exception):
    """A step ended with another code than 0; ``said`` is what it printed."""

    def __init__(self, name: str, said: str):
        super().__init__(f"{name}: {said}")
        self.said = said


class Forge(Struct, kw_only=True):
    """A bare repository that plays the forge, a machine for its jobs, and the site that it publishes."""

    place: Path
    origin: Path
    environment: dict[str, str] = field(default_factory=dict)
    jobs: int = 0

    @property
    def published(self) -> Path:
        """The folder that stands for the published site."""
        return self.place / "published"

    @property
    def report(self) -> Path:
        """The report of the last check."""
        return self.place / f"job{self.jobs}" / "artifacts" / "report" / "report.md"

    @property
    def preview(self) -> Path:
        """The site that the last check kept."""
        return self.place / f"job{self.jobs}" / "artifacts" / "preview"

    def push(self, commit: str) -> None:
        """A push to main. Raises StepFailed."""
        self.act("publish", commit)

    def merge_request(self, commit: str, base: str) -> None:
        """A request to merge a commit into main. Raises StepFailed."""
        self.act("check", commit, base)

    def act(self, workflow: str, commit: str, base: str = "") -> Path:
        """Run the workflow file of ``commit``. Returns the folder of its artifacts. Raises StepFailed."""
        self.jobs += 1
        work = self.place / f"job{self.jobs}"
        (work / "artifacts").mkdir(parents=True)
        (work / "temp").mkdir()
        text = _git(self.origin, "show", f"{commit}:.github/workflows/{workflow}.yml")
        values = {"github.event.pull_request.base.sha": base, "runner.temp": str(work / "temp")}
        for job in yaml.safe_load(text)["jobs"].values():
            environment = {**job.get("env", {})}
            for step in job["steps"]:
                self._step(_filled(step, values), work, commit, _filled(environment, values))
        return work / "artifacts"

    def _step(self, step: dict[str, Any], work: Path, commit: str, environment: dict[str, str]) -> None:
        action, given = step.get("uses", "").partition("@")[0], step.get("with", {})
        if "run" in step:
            folder = work / "tree" / step.get("working-directory", ".")
            summary = {"GITHUB_STEP_SUMMARY": str(work / "summary.md"), "RUNNER_TEMP": str(work / "temp")}
            done = subprocess.run(
                ["bash", "-e", "-c", step["run"]], cwd=folder, text=True, check=False,
                env={**os.environ, **self.environment, **environment, **summary},
                stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            )  # fmt: skip
            if done.returncode:
                raise StepFailed(step.get("name", step["run"]), done.stdout)
        elif action == "actions/checkout":
            tree = work / "tree" / given.get("path", ".")
            _git(work, "clone", "--quiet", str(self.origin), str(tree))
            _git(tree, "checkout", "--quiet", given.get("ref") or commit)
        elif action in ("actions/upload-artifact", "actions/upload-pages-artifact"):
            shutil.copytree(work / "tree" / given["path"], work / "artifacts" / given.get("name", "site"))
        elif action == "actions/deploy-pages":
            shutil.rmtree(self.published, ignore_errors=True)
            shutil.copytree(work / "artifacts" / "site", self.published)
        else:
            assert action == "actions/setup-python", action


def machine(place: Path, wheels: Path | None, ready: Path | None = None) -> dict[str, str]:
    """The environment of a fresh virtual environment at ``place``.

    With a folder of ``wheels`` it is clean, and pip installs what the steps name. Without, what is installed here is
    there too, so that pip finds all of it and needs no network; with the socket of a server, its commands are those of
    the program here, ready at once (tests/ready.py).
    """
    # A pip of its own takes seconds to put there.
    has_pip = wheels is None and importlib.util.find_spec("pip") is not None
    venv.create(place, with_pip=not has_pip)
    environment = {"PATH": f"{place / 'bin'}:{os.environ['PATH']}", "VIRTUAL_ENV": str(place)}
    environment |= {"XDG_CACHE_HOME": str(place / "cache"), "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    if wheels is not None:
        return {**environment, "PIP_FIND_LINKS": str(wheels)}
    packages = next(place.glob("lib/python*/site-packages"))
    here = [each for each in sys.path if each.endswith(("site-packages", "dist-packages"))]
    (packages / "here.pth").write_text("".join(f"import site; site.addsitedir({each!r})\n" for each in here))
    start = f'"{place}/bin/python"'
    commands = {"handbook": f"{start} -m handbook"} | ({"pip": f"{start} -m pip"} if has_pip else {})
    if ready:
        commands["handbook"] = f'{start} -I -S "{READY}" "{ready}"'
    for name, line in commands.items():
        command = place / "bin" / name
        command.write_text(f'#!/bin/sh\nexec {line} "$@"\n')
        command.chmod(0o755)
    # 0: pip does not look for conflicts among packages that no step names, which takes it a third of its time.
    return {**environment, "PIP_NO_INDEX": "1", "PIP_NO_WARN_CONFLICTS": "0"}


def _filled(found: dict[str, Any], values: dict[str, str]) -> dict[str, Any]:
    def one(value: Any) -> Any:
        if isinstance(value, dict):
            return _filled(value, values)
        return _VALUES.sub(lambda match: values[match[1]], value) if isinstance(value, str) else value

    return {key: one(value) for key, value in found.items()}


def _git(folder: Path, *words: str) -> str:
    return subprocess.run(["git", *words], cwd=folder, check=True, capture_output=True, text=True).stdout
