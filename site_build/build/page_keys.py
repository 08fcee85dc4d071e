"""The inputs of each written page besides its own job: its sign-off, its history, its pictures."""

from __future__ import annotations

from site_build.base.fingerprint import key_of
from site_build.build.gather import Gathered
from site_build.review.review_states import ReviewStates


def page_keys(gathered: Gathered, standing: ReviewStates, is_preview: bool) -> dict[str, str]:
    """Page path -> key of its files in the site."""
    digests = gathered.source.digests
    found = {}
    for path in gathered.pages:
        pictures = [digests.get(target, "") for target in gathered.targets(path)]
        review = f"{standing.signs.get(path)} {standing.rows.get(path, ())} {is_preview}"
        found[path] = key_of("written", gathered.keys[path], review, *pictures)
    return found
