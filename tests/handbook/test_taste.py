"""Taste notes find the salt that a kitchen likes, and say when they are too few."""

from math import log

import numpy as np

from handbook.runs.taste import TASTER, TASTING, Note, right_salt


def test_right_salt_covers():
    """Tasters with a hidden liking are found in the stated 90 % band about nine times in ten."""
    random, inside = np.random.default_rng(5), 0
    for _ in range(300):
        right = 0.02 * np.exp(random.normal(0, log(2) / 1.645))
        slope = 4 * np.exp(random.normal(0, log(2) / 1.645))
        notes = []
        for salt in (0.016, 0.022, 0.028):
            noise = random.normal(0, (TASTER**2 / 6 + TASTING**2) ** 0.5)
            notes.append(
                Note(
                    salt=salt, deviation=0.0, score=float(np.clip(slope * log(salt / right), -2, 2) + noise), tasters=6
                )
            )
        found = right_salt(notes, 0.02).salt
        inside += found.low <= right <= found.high
    assert 0.9 - 3 * 0.0173 <= inside / 300 <= 0.9 + 3 * 0.0173


def test_right_salt_leans_with_the_notes():
    """Too salty moves the right salt down, too mild up; nothing said leaves it where the method stands."""
    salty = right_salt([Note(salt=0.03, deviation=0.05, score=1.0, tasters=5)] * 3, 0.03).salt.typical
    mild = right_salt([Note(salt=0.03, deviation=0.05, score=-1.0, tasters=5)] * 3, 0.03).salt.typical
    assert salty < right_salt([], 0.03).salt.typical < mild


def test_right_salt_says_too_few():
    """One note is never enough; three that agree are."""
    assert not right_salt([Note(salt=0.03, deviation=0.05, score=0.0, tasters=9)], 0.03).is_enough
    assert right_salt(
        [Note(salt=salt, deviation=0.05, score=4 * log(salt / 0.03), tasters=9) for salt in (0.026, 0.03, 0.035)], 0.03
    ).is_enough
