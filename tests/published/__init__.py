"""Published figures as printed, one table for each source, with source and trust in its first lines."""

import csv
from pathlib import Path


def rows(name: str) -> list[dict[str, str]]:
    """Rows of one table, comment lines left out."""
    lines = Path(__file__).with_name(name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def pairs(name: str, first: str, second: str) -> list[tuple[float, float]]:
    """Two columns as numbers, rows where either is blank left out."""
    return [(float(row[first]), float(row[second])) for row in rows(name) if row[first] and row[second]]


def half_last_digit(text: str) -> float:
    """Half of the last digit of a printed number."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2])
