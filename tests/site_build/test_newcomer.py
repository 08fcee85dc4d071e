"""A new team comes from an empty folder to a published site and a merged change with the begun files alone."""

import pytest

from tests.newcomer import play


@pytest.mark.parametrize("at_top", [False, True], ids=["in a folder", "at the top"])
def test_from_an_empty_folder_to_a_merged_change(tmp_path, at_top):
    """The forge's own steps publish, check and publish again; the report says what the change moves."""
    # A pickle is computed quickly.
    played = play(tmp_path, family="vinegar-pickle", change=("45 g", "60 g"), at_top=at_top)
    assert len(played.asked) >= 8 and all(line.count("such as") == 1 for line in played.asked)
    assert played.outside == ()
    assert "45 g" in played.report and "60 g" in played.report
    assert "vinegar-pickle.html" in played.preview
    assert ">60 g" in played.published_again and ">60 g" not in played.published
