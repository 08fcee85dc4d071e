"""Finds programs to start: only installed ones, never one in the current folder."""

from __future__ import annotations

import os
import shutil


def program(name: str) -> str | None:
    """The full path of the program ``name``; None where none is installed.

    Only absolute entries of the search path count: a relative one, and the folder in which Windows looks first, may be
    a stranger's clone.
    """
    places = os.pathsep.join(each for each in os.get_exec_path() if os.path.isabs(each))
    found = shutil.which(name, path=places)
    return found if found and os.path.isabs(found) else None
