"""Acts out a .gitlab-ci.yml on this machine, as far as the examples use one.

The jobs that the rules choose run stage by stage. Each has a fresh clone with the commit checked out and no branch, as a
runner makes it, and one shell for before_script and script. What a job keeps is copied to the jobs that need it.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct, field

from tests.acted_forge import StepFailed

_CALL = """#!/bin/sh
printf '%s\\n' "$@" > "$SENT/words"
for word in "$@"; do case "$word" in "body=<"*) cat "${word#body=<}" > "$SENT/body";; esac; done
"""


class PipelineForge(Struct, kw_only=True):
    """A bare repository that plays the forge, a machine for its jobs, its pages, and what was sent to its interface."""

    place: Path
    origin: Path
    environment: dict[str, str] = field(default_factory=dict)
    token: str = ""
    jobs: int = 0

    @property
    def published(self) -> Path:
        """The folder that stands for the published site."""
        return self.place / "pages"

    @property
    def sent(self) -> Path:
        """The folder with the words of the last call of the forge's interface, and the note that it carried."""
        return self.place / "sent"

    def push(self, commit: str) -> list[str]:
        """The pipeline of a push to main. Returns the names of its jobs. Raises StepFailed."""
        return self._run(commit, {"CI_PIPELINE_SOURCE": "push", "CI_COMMIT_BRANCH": "main"})

    def merge_request(self, commit: str, base: str) -> list[str]:
        """The pipeline of a merge request into main. Returns the names of its jobs. Raises StepFailed."""
        return self._run(
            commit,
            {
                "CI_PIPELINE_SOURCE": "merge_request_event",
                "CI_MERGE_REQUEST_TARGET_BRANCH_NAME": "main",
                "CI_MERGE_REQUEST_DIFF_BASE_SHA": base,
                "CI_MERGE_REQUEST_IID": "7",
                "CI_PROJECT_ID": "3",
                "CI_API_V4_URL": "https://forge.example/api/v4",
            },
        )

    @property
    def report(self) -> Path:
        """The report of the last check."""
        return next(self.kept("check").glob("*report/report.md"))

    @property
    def preview(self) -> Path:
        """The site that the last check kept."""
        return self.kept("check") / "preview"

    def kept(self, job: str) -> Path:
        """What a job of the last pipeline kept."""
        return self.place / "kept" / job

    def _run(self, commit: str, variables: dict[str, str]) -> list[str]:
        found = yaml.safe_load(_git(self.origin, "show", f"{commit}:.gitlab-ci.yml"))
        variables = {"CI_DEFAULT_BRANCH": "main", "HANDBOOK_COMMENT_TOKEN": self.token, **variables}
        shutil.rmtree(self.place / "kept", ignore_errors=True)
        ran: list[str] = []
        failed: StepFailed | None = None
        for stage in found["stages"]:
            for name, job in found.items():
                if not isinstance(job, dict) or job.get("stage") != stage:
                    continue
                rule = next((each for each in job["rules"] if _holds(each["if"], variables)), None)
                if rule is None or (failed and rule.get("when") != "always"):
                    continue
                ran.append(name)
                try:
                    self._job(
                        name, job, commit, {**found.get("variables", {}), **variables, **job.get("variables", {})}
                    )
                except StepFailed as error:
                    failed = failed or error
        if failed:
            raise failed
        return ran

    def _job(self, name: str, job: dict[str, Any], commit: str, variables: dict[str, str]) -> None:
        self.jobs += 1
        work = self.place / f"pipeline{self.jobs}" / "kitchen"
        work.parent.mkdir()
        if variables.get("GIT_STRATEGY") == "none":
            work.mkdir()
        else:
            _git(self.place, "clone", "--quiet", "--no-checkout", str(self.origin), str(work))
            _git(work, "checkout", "--quiet", "--detach", commit)
        for need in job.get("needs", ()):
            if need["artifacts"] and self.kept(need["job"]).exists():
                shutil.copytree(self.kept(need["job"]), work, dirs_exist_ok=True)
        done = subprocess.run(
            ["bash", "-eo", "pipefail", "-c", "\n".join((*job.get("before_script", ()), *job["script"])).replace(
                "/tmp/", f"{work.parent}/"  # each job has a container, and a /tmp, of its own
            )],
            cwd=work, text=True, check=False, env=self._environment(variables),
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        for path in job.get("artifacts", {}).get("paths", ()):
            if done.returncode == 0 or job["artifacts"].get("when") == "always":
                self._keep(name, work, path)
        if done.returncode:
            raise StepFailed(name, done.stdout)
        if name == "pages":
            shutil.rmtree(self.published, ignore_errors=True)
            shutil.copytree(self.kept(name) / "public", self.published)

    def _keep(self, name: str, work: Path, path: str) -> None:
        if (work / path).is_dir():
            shutil.copytree(work / path, self.kept(name) / path, symlinks=True)

    def _environment(self, variables: dict[str, str]) -> dict[str, str]:
        """The machine's environment with a program in the place of curl: nothing leaves the machine."""
        tools = self.place / "tools"
        tools.mkdir(exist_ok=True)
        self.sent.mkdir(exist_ok=True)
        (tools / "curl").write_text(_CALL)
        (tools / "curl").chmod(0o755)
        path = self.environment.get("PATH", os.environ["PATH"])
        return {**os.environ, **self.environment, **variables, "PATH": f"{tools}:{path}", "SENT": str(self.sent)}


def _holds(rule: str, variables: dict[str, str]) -> bool:
    """A rule of a job: comparisons and set variables, joined by &&."""

    def value(word: str) -> str:
        return variables.get(word[1:], "") if word.startswith("$") else word.strip('"')

    for part in rule.split(" && "):
        found = re.fullmatch(r"(\$\w+)(?: == (\$\w+|\"[^\"]*\"))?", part)
        assert found, part
        if (value(found[1]) != value(found[2])) if found[2] else not value(found[1]):
            return False
    return True


def _git(folder: Path, *words: str) -> str:
    return subprocess.run(["git", *words], cwd=folder, check=True, capture_output=True, text=True).stdout
