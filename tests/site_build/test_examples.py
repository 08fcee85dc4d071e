"""The examples for forges and hooks are true: they parse, and each command in them is one with such options."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import subprocess
import sys
import zipfile
from pathlib import Path

import click
import pytest
import yaml

from site_build.cli.main import main
from site_build.review.report_markdown import MARKER

EXAMPLES = Path(__file__).resolve().parent.parent.parent / ".examples"
FILES = sorted(path for path in EXAMPLES.rglob("*") if path.is_file())


def commands() -> list[tuple[str, str]]:
    """(file, command line) of each call of the handbook command in the examples."""
    found = []
    for path in FILES:
        if path.name != "README.md":
            lines = re.findall(
                r"(?:^|[\s-])(?:exec )?(handbook (?:check|compare|build) [^-][^\n]*)", path.read_text("utf-8")
            )
            found += [(path.name, line) for line in lines]
    return found


def workflow(name: str) -> dict:
    """An example for the first forge."""
    return yaml.safe_load((EXAMPLES / "github" / f"{name}.yml").read_text("utf-8"))


def steps(found: dict) -> list[dict]:
    """All steps of a workflow's jobs in order."""
    return [step for job in found["jobs"].values() for step in job["steps"]]


@pytest.mark.parametrize(
    "path", [each for each in FILES if each.suffix in (".yml", ".yaml")], ids=lambda each: each.name
)
def test_examples_parse(path):
    """Each YAML file is one table or list."""
    assert isinstance(yaml.safe_load(path.read_text("utf-8")), dict | list)


@pytest.mark.parametrize(("file", "line"), commands())
def test_commands_are_ours(file, line):
    """Each command line is taken by the command as it stands today."""
    _, name, *arguments = shlex.split(line)
    command = main.get_command(click.Context(main), name)
    assert command is not None, f"{file}: no command {name}"
    command.make_context(name, arguments)


def test_every_example_is_listed():
    """The table of examples names each file."""
    listed = (EXAMPLES / "README.md").read_text("utf-8")
    assert len(commands()) >= 9
    for path in FILES:
        assert path.name == "README.md" or f"`{path.relative_to(EXAMPLES).as_posix()}`" in listed


def test_comment_is_found_again():
    """The example that replaces its last comment looks for the line that a report begins with."""
    assert f'startswith("{MARKER}")' in (EXAMPLES / "github" / "comment.yml").read_text("utf-8")


def test_rights_and_code_stay_apart():
    """What runs on a pull request's own text has no right to write; what may write checks nothing out."""
    check, comment = workflow("check"), workflow("comment")
    assert (
        check["permissions"] == {"contents": "read"}
        and "secrets" not in (EXAMPLES / "github/check.yml").read_text().split("\n", 6)[-1]
    )
    assert not any("uses" in step for job in comment["jobs"].values() for step in job["steps"])
    # What a stranger names, such as a branch, reaches a shell only as a variable.
    for step in (*steps(check), *steps(comment)):
        assert "${{" not in step.get("run", ""), step


def test_the_change_does_not_choose_the_generator():
    """Everything is installed by hash from what the main branch pins; the change stands in a folder that nothing is run from."""
    made = steps(workflow("check"))
    base, change = (step["with"] for step in made if "checkout" in step.get("uses", ""))
    assert base["ref"] == "${{ github.event.pull_request.base.sha }}" and base["path"] == "base"
    assert "ref" not in change and change["path"] == "change"
    assert workflow("check")[True] == {"pull_request": {"branches": ["main"]}}  # YAML 1.1 reads "on" as true
    installs = [
        line
        for path in FILES
        for line in re.findall(r"pip install -[^'\n]*", path.read_text("utf-8"))
        if path.suffix == ".yml"
    ]
    assert len(installs) == 4 and all("--require-hashes --only-binary :all:" in line for line in installs)
    assert [step["run"] for step in made if "pip" in step.get("run", "")] == [
        "pip install --require-hashes --only-binary :all: -r base/requirements.txt"
    ]
    gitlab = yaml.safe_load((EXAMPLES / "gitlab/gitlab-ci.yml").read_text("utf-8"))
    fetched, shown, installed = gitlab["check"]["before_script"]
    assert (
        fetched.endswith('"$CI_DEFAULT_BRANCH"')
        and shown == "git show FETCH_HEAD:requirements.txt > /tmp/requirements.txt"
    )
    assert installed.endswith("-r /tmp/requirements.txt")
    for name in ("check", "comment"):
        assert "$CI_MERGE_REQUEST_TARGET_BRANCH_NAME == $CI_DEFAULT_BRANCH" in gitlab[name]["rules"][0]["if"]


REPORT = f"{MARKER}\nWhat changes.\n"
CHECK = [{"path": "methods", "sha": "0001"}, {"path": ".github", "sha": "0002"}]
PULL = {"number": 7, "head": {"sha": "aaaa", "repo": {"full_name": "guest/kitchen"}}}


def zipped(files: dict[str, bytes | str]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in files.items():
            packed.writestr(name, text)
    return out.getvalue()


@pytest.fixture
def comment(tmp_path):
    """Acts out comment.yml with a forge that answers what it is given: its exit code, and what was written to the forge."""

    def acted(pulls=(PULL,), theirs=CHECK, artifacts=None, data=None, olds=()):
        data = zipped({"report.md": REPORT}) if data is None else data
        artifacts = [{"name": "report", "id": 5, "size_in_bytes": len(data)}] if artifacts is None else artifacts
        (tmp_path / "zip").write_bytes(data)
        (tmp_path / "answers.json").write_text(
            json.dumps(
                {
                    "repos/kitchen/kitchen/pulls": list(pulls),
                    "repos/kitchen/kitchen/git/trees/main": {"tree": CHECK},
                    "repos/kitchen/kitchen/git/trees/aaaa": {"tree": theirs},
                    "repos/kitchen/kitchen/actions/runs/99/artifacts": {"artifacts": artifacts},
                    "repos/kitchen/kitchen/issues/7/comments": list(olds),
                }
            )
        )
        tool = tmp_path / "tools" / "gh"
        tool.parent.mkdir(exist_ok=True)
        tool.write_text(f"#!{sys.executable}\n" + FORGE)
        tool.chmod(0o755)
        if not (tool.parent / "python3").exists():
            (tool.parent / "python3").symlink_to(sys.executable)
        work = tmp_path / "work"
        work.mkdir()
        environment = {
            "PATH": f"{tool.parent}:{os.environ['PATH']}", "FORGE": str(tmp_path), "GH_REPO": "kitchen/kitchen", "RUN": "99",
            "HEAD_SHA": "aaaa", "HEAD_REPO": "guest/kitchen", "HEAD_OWNER": "guest", "HEAD_BRANCH": "$(touch pwned) & x=y",
        }  # fmt: skip
        for step in steps(workflow("comment")):
            # As the forge runs a step without a shell of its own: bash -e.
            done = subprocess.run(
                ["bash", "-e", "-c", step["run"]], cwd=work, env=environment, capture_output=True, check=False
            )
            if done.returncode:
                break
        assert not (work / "pwned").exists() and {path.name for path in tmp_path.iterdir()} <= {
            "zip",
            "answers.json",
            "tools",
            "work",
            "written",
        }
        written = tmp_path / "written"
        return done.returncode, [
            json.loads(line) for line in written.read_text().splitlines()
        ] if written.exists() else []

    return acted


#: The forge's own tool, as far as the example uses it. The expressions of --jq are those of the example, in Python.
FORGE = """
import json, os, sys, urllib.parse
place = os.environ["FORGE"]
words = sys.argv[2:]
path = next(each for each in words if each.startswith("repos/")).split("?")[0]
fields = [words[at + 1] for at, word in enumerate(words) if word in ("-f", "--field")]
body = next((each[5:] for each in fields if each.startswith("body=")), None)
if body is not None:
    assert body == "@report.md"
    method = words[words.index("--method") + 1] if "--method" in words else "POST"
    with open(place + "/written", "a") as out:
        out.write(json.dumps([method, path, open("report.md").read()]) + "\\n")
    sys.exit()
if path.endswith("/zip"):
    sys.stdout.buffer.write(open(place + "/zip", "rb").read())
    sys.exit()
found = json.load(open(place + "/answers.json"))[path]
wanted = words[words.index("--jq") + 1]
if path.endswith("/pulls"):
    assert fields == ["state=open", "base=main", "head=guest:" + os.environ["HEAD_BRANCH"]]
    assert wanted == ".[] | select(.head.sha == env.HEAD_SHA and .head.repo.full_name == env.HEAD_REPO) | .number"
    lines = [each["number"] for each in found if each["head"]["sha"] == "aaaa" and (each["head"]["repo"] or {}).get("full_name") == "guest/kitchen"]
elif "/git/trees/" in path:
    assert wanted == '.tree[] | select(.path | ascii_downcase == ".github") | .sha'
    lines = [each["sha"] for each in found["tree"] if each["path"].lower() == ".github"]
elif path.endswith("/artifacts"):
    assert wanted == '.artifacts[] | select(.name == "report" and .size_in_bytes <= 1000000) | .id'
    lines = [each["id"] for each in found["artifacts"] if each["name"] == "report" and each["size_in_bytes"] <= 1000000]
else:
    lines = [each["id"] for each in found if each["user"]["login"] == "github-actions[bot]" and each["body"].startswith("<!-- handbook compare -->")]
print("".join(f"{line}\\n" for line in lines), end="")
"""


def test_a_report_goes_to_its_own_pull_request(comment):
    """The report is written once, where the forge says that the checked commit belongs."""
    assert comment() == (0, [["POST", "repos/kitchen/kitchen/issues/7/comments", REPORT]])


def test_a_report_takes_the_place_of_the_last(comment):
    """The bot's own last report is replaced; a comment of another that begins alike is left."""
    bot, guest = ({"login": name} for name in ("github-actions[bot]", "guest"))
    olds = [
        {"id": 1, "user": bot, "body": MARKER},
        {"id": 2, "user": guest, "body": MARKER},
        {"id": 3, "user": bot, "body": "Hi"},
    ]
    assert comment(olds=olds) == (0, [["PATCH", "repos/kitchen/kitchen/issues/comments/1", REPORT]])


BOMB = {"report.md": MARKER.encode() + bytes(50_000_000)}
NO_COMMENT = {
    "a newer commit": {"pulls": [PULL | {"head": PULL["head"] | {"sha": "bbbb"}}]},
    "no pull request": {"pulls": []},
    "a fork that is gone": {"pulls": [PULL | {"head": {"sha": "aaaa", "repo": None}}]},
    "the same commit in another fork": {"pulls": [PULL | {"head": {"sha": "aaaa", "repo": {"full_name": "other/kitchen"}}}]},
    "two pull requests": {"pulls": [PULL, PULL | {"number": 8}]},
    "a number that is none": {"pulls": [PULL | {"number": "1/../../x"}]},
    "its own check": {"theirs": [{"path": ".github", "sha": "0003"}]},
    "its own check, in capitals": {"theirs": [*CHECK, {"path": ".GitHub", "sha": "0003"}]},
    "its own check, in capitals alone": {"theirs": [{"path": ".GITHUB", "sha": "0003"}]},
    "its own check, moved away": {"theirs": CHECK[:1]},
    "a check that is like the main branch's, twice": {"theirs": [*CHECK, {"path": ".GitHub", "sha": "0002"}]},
    "no report": {"artifacts": []},
    "two reports": {"artifacts": [{"name": "report", "id": each, "size_in_bytes": 1} for each in (5, 6)]},
    "a huge report": {"artifacts": [{"name": "report", "id": 5, "size_in_bytes": 10**9}]},
    "a huge report that says it is small": {"data": bytes(3_000_000)},
    "no archive": {"data": b"report"},
    "a number beside it": {"data": zipped({"report.md": REPORT, "number": "1"})},
    "a file above": {"data": zipped({"../report.md": REPORT})},
    "a file elsewhere": {"data": zipped({"/tmp/report.md": REPORT})},
    "a file twice over": {"data": zipped({"report.md": REPORT, "report.md/": ""})},
    "a bomb": {"data": zipped(BOMB)},
    "other words": {"data": zipped({"report.md": "@everyone look here"})},
    "nothing": {"data": zipped({"report.md": ""})},
}  # fmt: skip


@pytest.mark.parametrize("why", NO_COMMENT)
def test_no_comment(comment, why):
    """Where anything is not as a check leaves it, nothing is written."""
    code, written = comment(**NO_COMMENT[why])
    assert code != 0 and written == []


def test_report_of_a_merge_request_is_a_plain_file(tmp_path):
    """On the other forge too: a link, a folder or a huge file in the place of the report ends the job before it is sent."""
    gitlab = yaml.safe_load((EXAMPLES / "gitlab/gitlab-ci.yml").read_text("utf-8"))
    *tests, sent = gitlab["comment"]["script"]
    assert "curl" in sent and gitlab["comment"]["variables"] == {"GIT_STRATEGY": "none"}

    def passes(make) -> bool:
        work = tmp_path / make.__name__
        (work / "report").mkdir(parents=True)
        make(work)
        return all(subprocess.run(["sh", "-c", line], cwd=work, check=False).returncode == 0 for line in tests)

    def good(work):
        (work / "report/report.md").write_text(REPORT)

    def link(work):
        (work / "report/report.md").symlink_to("/etc/passwd")

    def linked_folder(work):
        (work / "report").rename(work / "other")
        good_text = work / "other/report.md"
        good_text.write_text(REPORT)
        (work / "report").symlink_to("other")

    def device(work):
        os.mkfifo(work / "report/report.md")

    def huge(work):
        (work / "report/report.md").write_text("x" * 65_001)

    def missing(work):
        """No report at all."""

    assert [make.__name__ for make in (good, link, linked_folder, device, huge, missing) if passes(make)] == ["good"]
    removed, made = gitlab["check"]["script"][:2]
    assert removed == "rm -rf report preview" and made == "mkdir report"
