"""Time and memory of a handbook build beside a bare MkDocs build of the same rendered Markdown.

Run: python -m tests.bench_build [methods]. Prints ratios; each build is a process of its own, best of three.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

_BARE = """
import sys, resource, time, logging
from mkdocs.config import load_config
from mkdocs.commands.build import build
started = time.perf_counter()
build(load_config(open(sys.argv[1], 'rb'), docs_dir=sys.argv[2], site_dir=sys.argv[3]))
print(time.perf_counter() - started, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
_OURS = """
import sys, resource, time
from pathlib import Path
from site_build.build import Choices, build_site
started = time.perf_counter()
build_site(Path(sys.argv[2]), Path(sys.argv[3]), Choices(shows_progress=False, is_fresh=True))
print(time.perf_counter() - started, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
_THEME = "<!doctype html><title>{{ page.title }}</title>{{ page.content }}"


def main() -> None:
    """Print the two builds and their ratios."""
    methods = Path(sys.argv[1] if len(sys.argv) > 1 else "methods").resolve()
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        bare = _bare_config(work, methods)
        ours = _best(_OURS, "", str(methods), str(work / "ours"))
        plain = _best(_BARE, str(bare), str(work / "docs"), str(work / "bare"))
        pages = len(list((work / "docs").glob("*.md")))
    print(f"pages with the same words and tables: {pages}")
    print(f"handbook build  {ours[0]:7.2f} s  {ours[1]:6.0f} MB")
    print(f"bare MkDocs     {plain[0]:7.2f} s  {plain[1]:6.0f} MB")
    print(f"ratio           {ours[0] / plain[0]:7.2f}    {ours[1] / plain[1]:6.2f}")


def _bare_config(work: Path, methods: Path) -> Path:
    """The same pages as plain Markdown, computed tables written out, and a theme of one line."""
    from site_build.book import read_book

    docs, theme = work / "docs", work / "theme"
    docs.mkdir()
    theme.mkdir()
    (theme / "main.html").write_text(_THEME)
    for page in read_book(methods).pages.values():
        text = page.text.body
        for each in page.report.saltings + page.report.glazes if page.report else ():
            text += "\n\n" + _table(each)
        if page.report:
            text += "\n\n" + "\n".join(f"1. {step.do}" for step in page.report.method.steps)
        (docs / page.path).write_text(text, "utf-8")
    config = work / "bare.yml"
    config.write_text(
        "site_name: bare\nuse_directory_urls: false\nplugins: []\n"
        f"theme: {{name: null, custom_dir: {theme}}}\nmarkdown_extensions: [tables, toc]\n"
    )
    return config


def _table(each) -> str:
    rows = ["| ingredient |" + "|".join(f" {column.food_mass:g} kg " for column in each.columns) + "|"]
    rows.append("|---|" + "---|" * len(each.columns))
    for index, part in enumerate(each.made.parts):
        cells = (f" {column.rows[index].weighed.mass * 1000:.1f} g " for column in each.columns)
        rows.append(f"| {part.ingredient.name} |" + "|".join(cells) + "|")
    return "\n".join(rows)


def _best(code: str, *arguments: str) -> tuple[float, float]:
    found = []
    for _ in range(3):
        done = subprocess.run([sys.executable, "-c", code, *arguments], check=True, capture_output=True, text=True)
        seconds, megabytes = done.stdout.split()[-2:]
        found.append((float(seconds), float(megabytes)))
    return min(found)


if __name__ == "__main__":
    main()
