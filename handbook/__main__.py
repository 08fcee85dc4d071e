"""``python -m handbook``: the same as the command ``handbook``.

The engine imports no generator. The command is looked up by the name under which the installed package registers it
(entry points, Python Packaging User Guide).
"""

import sys
from importlib.metadata import entry_points


def main() -> None:
    """Run the command, or say that it is not installed."""
    found = entry_points(group="console_scripts", name="handbook")
    if not found:
        sys.exit("handbook: read no installed command; allowed: a Python in which the handbook is installed")
    next(iter(found)).load()()


if __name__ == "__main__":
    main()
