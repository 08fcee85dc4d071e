"""The ``handbook`` command. Each command's module is loaded when the command is named."""

from __future__ import annotations

import gc
import sys
from importlib import import_module

import click

from handbook import __version__
from site_build.cli.report_options import add_report_options

#: Module of each command, in this package.
_MODULES = {
    "adjust": "adjust_command",
    "batch": "batch_commands",
    "begin": "begin_command",
    "build": "build_commands",
    "check": "build_commands",
    "compare": "review_commands",
    "day": "day_command",
    "due": "due_commands",
    "inspection": "paper_command",
    "manual": "manual_command",
    "names": "names_command",
    "new": "new_command",
    "paper": "paper_command",
    "plan": "plan_command",
    "preview": "build_commands",
    "recall": "due_commands",
    "record": "record_command",
    "schemas": "review_commands",
    "sign": "review_commands",
    "stock": "due_commands",
    "thermometer": "due_commands",
    "upgrade": "upgrade_command",
    "words": "words_command",
}
#: These run until they are ended, or open something: there is nothing to report.
_WITHOUT_REPORT = ("preview", "manual")


class _Commands(click.Group):
    """The commands by name. Those that were not named are loaded only where all are listed."""

    @property
    def commands(self) -> dict[str, click.Command]:  # type: ignore[override]
        """Every command."""
        for name in _MODULES:
            self._load(name)
        return self._loaded

    @commands.setter
    def commands(self, commands: dict[str, click.Command]) -> None:
        self._loaded = commands

    def add_command(self, cmd: click.Command, name: str | None = None) -> None:
        """Add a command of a loaded module."""
        self._loaded[name or cmd.name or ""] = cmd

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name."""
        self._load(cmd_name)
        return self._loaded.get(cmd_name)

    def _load(self, name: str) -> None:
        if name in _MODULES and name not in self._loaded:
            before = set(self._loaded)
            gc.disable()  # what is imported lasts to the end: looking for garbage in it takes a twentieth of a small command
            _load_pint()
            import_module(f"site_build.cli.{_MODULES[name]}").register(self)
            gc.freeze()
            gc.enable()
            added = {each: command for each, command in self._loaded.items() if each not in before}
            add_report_options(added, _WITHOUT_REPORT)


def _load_pint() -> None:
    """Load pint without two libraries that it loads wherever they are installed, for arrays that no page has.

    They take as long to start as the rest of a small command. Only a process of this command's own goes without them.
    """
    if "pint" not in sys.modules:
        hidden = [each for each in ("dask", "scipy") if each not in sys.modules]
        sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]  # None: not found
        try:
            import_module("pint")
        finally:
            for each in hidden:
                del sys.modules[each]


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="handbook %(version)s")
def main() -> None:
    """Turn a folder of cook's methods into a handbook site with computed brine, salt, heat and safety figures.

    A folder of methods holds one Markdown file for each method and a house file, house.yml.

    \b
    First steps:
      handbook begin my-kitchen            begin a handbook of your own, ready to push
      handbook new methods/my-method.md    write a commented starter page
      handbook check methods               say what is wrong, write nothing
      handbook build methods --into site   write the site
      handbook preview methods             serve it here and follow every edit
    """


if __name__ == "__main__":
    main()
