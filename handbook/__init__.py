"""The calculation engine of the handbook: brine, uptake, heat, safety and timing. It knows no HTML.

For scripts: ``open_handbook(folder)`` gives a :class:`Handbook`, and ``handbook.report(name)`` every figure of a method.
"""

import os
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from handbook.base.errors import FaultsError, HandbookError, PageError
    from handbook.folder.handbook import Handbook, open_handbook
    from handbook.folder.read_page import Page
    from handbook.report.method_report import Report

__version__ = "0.1.0"
__all__ = ["FaultsError", "Handbook", "HandbookError", "Page", "PageError", "Report", "__version__", "open_handbook"]

# One thread for linear algebra, set before numpy loads: matrices here are small, and threads would change the order of
# sums and so the last digits from one machine to another.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

#: Where each public name stands. It is imported when it is asked for, so that a part of the engine loads no other.
_PLACES = {
    "FaultsError": "handbook.base.errors",
    "Handbook": "handbook.folder.handbook",
    "HandbookError": "handbook.base.errors",
    "Page": "handbook.folder.read_page",
    "PageError": "handbook.base.errors",
    "Report": "handbook.report.evaluate",
    "open_handbook": "handbook.folder.handbook",
}


def __getattr__(name: str) -> object:
    """Import a public name when it is first asked for (PEP 562)."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(_PLACES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
