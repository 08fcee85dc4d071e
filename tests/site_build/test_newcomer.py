"""A new team comes from an empty folder to a published site and a merged change with the begun files alone."""

import subprocess

from tests.acted_forge import Forge, machine
from tests.newcomer import WHO, play
from tests.site_build.test_begin import begun, filled


def test_from_an_empty_folder_to_a_merged_change(tmp_path):
    """The forge's own steps publish, check and publish again; the report says what the change moves."""
    # A pickle is computed quickly.
    played = play(tmp_path, family="vinegar-pickle", change=("45 g", "60 g"))
    assert len(played.asked) >= 8 and all(line.count("such as") == 1 for line in played.asked)
    assert played.outside == ()
    assert "45 g" in played.report and "60 g" in played.report
    assert "vinegar-pickle.html" in played.preview
    assert ">60 g" in played.published_again and ">60 g" not in played.published


def test_methods_at_the_top_are_published_too(tmp_path, monkeypatch):
    """The begun steps fit a repository whose methods stand at its top."""
    folder = begun(tmp_path, "--at-top", family="vinegar-pickle")
    filled(folder, "vinegar-pickle")
    for name, value in WHO.items():
        monkeypatch.setenv(name, value)
    for words in (["init", "--quiet", "-b", "main"], ["add", "."], ["commit", "--quiet", "-m", "Begin"]):
        subprocess.run(["git", *words], cwd=folder, check=True)
    forge = Forge(place=tmp_path, origin=folder, environment=machine(tmp_path / "machine", None))
    forge.act("publish", "main")
    assert (forge.published / "vinegar-pickle.html").is_file() and (forge.published / "index.html").is_file()
