"""Write the golden reports anew: ``python tests/site_build/write_golden.py``. Read the difference before committing it."""

from tempfile import TemporaryDirectory
from pathlib import Path

from review_edits import EDITS, GOLDEN, demo_repository, golden_report

if __name__ == "__main__":
    with TemporaryDirectory() as root:
        folder = demo_repository(Path(root))
        for edit in EDITS:
            (GOLDEN / f"{edit}.md").write_text(golden_report(folder, edit), "utf-8")
