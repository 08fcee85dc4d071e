"""No file of the folder that the command is called in runs, whatever it is called."""

import sys

import pytest

from tests.building import environment, small_handbook, start

#: As the installed command starts: the folder that it is called in is not where modules are looked for.
INSTALLED = (sys.executable, "-c", "import sys; sys.path.remove(''); from site_build.cli.main import main; main()")
#: Modules that Python, its workers and this generator load.
NAMES = (
    *("selectors", "signal", "multiprocessing", "socket", "struct", "threading", "site", "sitecustomize", "usercustomize"),
    *("numpy", "yaml", "PIL", "mkdocs", "handbook", "site_build", "markdown"),
)  # fmt: skip


@pytest.fixture
def clone(tmp_path):
    """A clone whose top holds a module of each name, each of which leaves a mark, beside the methods."""
    small_handbook(tmp_path / "clone" / "methods")
    for name in NAMES:
        code = f"open({str(tmp_path / 'ran')!r}, 'a').write({name!r} + ' ')\n"
        (tmp_path / "clone" / f"{name}.py").write_text(code)
    return tmp_path / "clone"


@pytest.mark.parametrize("words", [("build", "methods", "--into", "site", "--workers", "2"), ("check", "methods")])
def test_nothing_of_the_clone_runs(clone, words):
    """Built and checked with workers, from within the clone: no module of the clone is loaded."""
    environ = environment()
    environ.pop("PYTHONSAFEPATH", None)
    started = start(*words, cwd=clone, env=environ, command=INSTALLED)
    _, errors = started.communicate(timeout=300)
    assert not (clone.parent / "ran").exists(), (clone.parent / "ran").read_text()
    assert started.returncode == 0, errors
