"""A new team comes from an empty folder to a published site and a merged change with the begun files alone."""

import subprocess

import pytest

from tests.acted_forge import StepFailed, machine
from tests.newcomer import EXAMPLES, FORGES, WHO, play, use_examples
from tests.site_build.test_begin import begun, filled


def test_from_an_empty_folder_to_a_merged_change(tmp_path, command_server):
    """The forge's own steps publish, check and publish again; the report says what the change moves."""
    # A pickle is computed quickly.
    played = play(tmp_path, family="vinegar-pickle", change=("45 g", "60 g"), ready=command_server)
    assert len(played.asked) >= 8 and all(line.count("such as") == 1 for line in played.asked)
    assert played.outside == ()
    assert "45 g" in played.report and "60 g" in played.report
    assert "vinegar-pickle.html" in played.preview
    assert ">60 g" in played.published_again and ">60 g" not in played.published


@pytest.fixture
def repository(tmp_path, monkeypatch, command_server):
    """Makes a begun repository with one commit, its blanks filled in, and the forge that it is pushed to."""
    for name, value in WHO.items():
        monkeypatch.setenv(name, value)

    def made(forge: str, *more: str, edit=lambda folder: None):
        folder = begun(tmp_path, "--forge", forge, *more, family="vinegar-pickle")
        filled(folder if more else folder / "methods", "vinegar-pickle")
        edit(folder)
        git(folder, "init", "--quiet", "-b", "main")
        git(folder, "add", ".")
        git(folder, "commit", "--quiet", "-m", "Begin")
        environment = machine(tmp_path / "machine", None, command_server)
        return folder, FORGES[forge](place=tmp_path, origin=folder, environment=environment)

    return made


def git(folder, *words: str) -> str:
    """What git says, without its last line end."""
    done = subprocess.run(["git", *words], cwd=folder, check=True, capture_output=True, text=True)
    return done.stdout.strip()


def changed(folder, old: str, new: str, file: str = "methods/vinegar-pickle.md", pins=None) -> tuple[str, str]:
    """A branch with one replacement in a file, and one in the requirements: (its commit, its base)."""
    git(folder, "switch", "--quiet", "-c", "change")
    for name, one, other in ((file, old, new), *([("requirements.txt", *pins)] if pins else [])):
        text = (folder / name).read_text("utf-8")
        assert one in text
        (folder / name).write_text(text.replace(one, other), "utf-8")
    git(folder, "commit", "--quiet", "-am", "Change")
    head = git(folder, "rev-parse", "HEAD")
    git(folder, "switch", "--quiet", "main")
    return head, git(folder, "rev-parse", "main")


@pytest.mark.parametrize("forge", FORGES)
def test_methods_at_the_top_are_published_and_checked_too(repository, forge):
    """The begun steps fit a repository whose methods stand at its top."""
    folder, host = repository(forge, "--at-top")
    host.push("main")
    assert (host.published / "vinegar-pickle.html").is_file() and (host.published / "index.html").is_file()
    host.merge_request(*changed(folder, "45 g", "60 g", "vinegar-pickle.md"))
    assert "60 g" in host.report.read_text("utf-8") and (host.preview / "index.html").is_file()


def hashed(forge: str):
    """An edit that takes the examples' files and gives each pinned package some hash.

    Here pip finds all of it installed and looks at no archive; ``python -m tests.newcomer --clean --hashes`` has true hashes.
    """

    def edit(folder):
        use_examples(folder, forge)
        file = folder / "requirements.txt"
        lines = file.read_text("utf-8").splitlines()
        file.write_text("".join(f"{line} --hash=sha256:{'0' * 64}\n" for line in lines), "utf-8")

    return edit


@pytest.mark.parametrize("forge", FORGES)
def test_the_examples_run_as_their_forge_runs_them(repository, forge):
    """Every step of the examples themselves: publishing, a change with its report, and a change that is stopped.

    The change pins another generator too, and the check installs what the main branch pins all the same.
    """
    folder, host = repository(forge, edit=hashed(forge))
    host.push("main")
    before = (host.published / "vinegar-pickle.html").read_text("utf-8")
    head, base = changed(folder, "45 g", "60 g", pins=("mkdocs==", "no-such-package=="))
    if forge == "gitlab":
        host.token = "t"
    host.merge_request(head, base)
    report = host.report.read_text("utf-8")
    assert "60 g" in report and (host.preview / "vinegar-pickle.html").is_file()
    if forge == "gitlab":  # the other forge's comment is acted out in test_examples.py
        words = (host.sent / "words").read_text("utf-8").split("\n")
        assert "PRIVATE-TOKEN: t" in words and "https://forge.example/api/v4/projects/3/merge_requests/7/notes" in words
        assert (host.sent / "body").read_text("utf-8") == report
    git(folder, "branch", "-D", "change")
    with pytest.raises(StepFailed, match="stop"):
        host.merge_request(*changed(folder, "vinegar", "water, tap"))
    assert (host.published / "vinegar-pickle.html").read_text("utf-8") == before


def test_the_hook_checks_a_commit(repository):
    """The example of a hook lets a sound commit through and stops a faulty one, the first commit too."""
    folder, host = repository("github")
    hook = folder / ".git" / "hooks" / "pre-commit"
    hook.write_bytes((EXAMPLES / "hooks" / "pre-commit").read_bytes())
    hook.chmod(0o755)
    page = folder / "methods" / "vinegar-pickle.md"
    sound = page.read_text("utf-8")

    def commits(*words: str) -> bool:
        line = ["git", "commit", "--quiet", "--allow-empty", "-am", "Change", *words]
        return not subprocess.run(
            line, cwd=folder, env={**host.environment}, check=False, capture_output=True
        ).returncode

    host.environment |= WHO
    page.write_text(sound.replace("45 g", "46 g"), "utf-8")
    assert commits()
    page.write_text(sound.replace("45 g", "45 gg"), "utf-8")
    assert not commits()
    git(folder, "reset", "--quiet", "--hard")
    git(folder, "switch", "--quiet", "--orphan", "new")
    git(folder, "checkout", "--quiet", "main", "--", ".")
    assert commits()
