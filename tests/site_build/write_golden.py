"""Write the golden reports anew: ``python -m tests.site_build.write_golden``. Read the difference before committing it."""

from pathlib import Path
from tempfile import TemporaryDirectory

from tests.site_build.review_edits import EDITS, GOLDEN, demo_repository, golden_report

if __name__ == "__main__":
    with TemporaryDirectory() as root:
        folder = demo_repository(Path(root))
        for edit in EDITS:
            (GOLDEN / f"{edit}.md").write_text(golden_report(folder, edit), "utf-8")
