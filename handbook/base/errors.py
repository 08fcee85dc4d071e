"""The errors of the engine: one class per mistake, each with its parts as fields."""

from __future__ import annotations

import re

#: Characters that control a terminal, break a line invisibly or reorder the text around them: control characters
#: (Unicode category Cc) except tab and line feed, the line and paragraph separators (Zl, Zp), surrogates (Cs), and the
#: embeddings, overrides and isolates of the bidirectional algorithm (UAX 9), which can display a figure in another
#: order than it is written. Right-to-left letters, their marks and joiners are allowed.
CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\u202a-\u202e\u2066-\u2069]")

_COMMAND = re.compile(r"^(\s*)(::)|##(?=\w*\[)")


class HandbookError(ValueError):
    """Base class of all errors that a user of the handbook can cause."""


class UnitError(HandbookError):
    """A text is not one number and one known unit of the expected dimension."""

    def __init__(self, read: str, allowed: str, suggestion: str = ""):
        super().__init__(read, allowed, suggestion)
        self.read, self.allowed, self.suggestion = read, allowed, suggestion

    def __str__(self) -> str:
        return format_fault(self.read, self.allowed, self.suggestion)


class RangeError(HandbookError):
    """A value lies outside the valid range of a formula or a limit."""

    def __init__(self, name: str, value: float, allowed: str, line: int = 0, read: str = ""):
        super().__init__(name, value, allowed)
        self.name, self.value, self.allowed = name, value, allowed
        #: Line of the page that asks for the value; 0 where it is unknown.
        self.line = line
        #: The value as a cook reads it, where ``name`` is a key of a step; "" elsewhere.
        self.read = read

    def __str__(self) -> str:
        return f"{self.name}: read {self.value:g}; allowed: {self.allowed}"


class BeyondModelError(RangeError):
    """A model cannot follow a piece whose inputs are all allowed: it dries out, freezes or chars on the way, or is dry."""


class SourceError(HandbookError):
    """A figure cites an unknown source."""


class PageError(HandbookError):
    """One fault in a page or house file: its place, what was read, and what is allowed."""

    def __init__(self, file: str, line: int, key: str, read: str, allowed: str, suggestion: str = ""):
        super().__init__(file, line, key, read, allowed, suggestion)
        self.file, self.line, self.key = file, line, key
        self.read, self.allowed, self.suggestion = read, allowed, suggestion

    def __str__(self) -> str:
        fault = format_fault(self.read, self.allowed, self.suggestion)
        return f"{printable(self.file)}:{self.line}: {printable(self.key)}: {fault}"


class UnfollowedError(PageError):
    """A model cannot compute a page although all its inputs are allowed; ``reason`` is the reason in words."""

    def __init__(self, file: str, line: int, error: BeyondModelError):
        super().__init__(file, line, f"steps: {error.name}", f"{error.value:.4g}", error.allowed)
        holds = error.allowed.partition(":")[0]
        self.reason = f"this piece leaves the range of the heat model ({error.name} {holds})"


class StopError(PageError):
    """A safety rule that stops a page. Its figure is printed in full."""

    def __str__(self) -> str:
        fault = format_fault(self.read, self.allowed, limit=600)
        return f"{printable(self.file)}:{self.line}: {printable(self.key)}: {fault}"


class UnforeseenError(PageError):
    """An error in the program itself while it computes a page. It names the page, and the build fails."""

    @classmethod
    def of(cls, file: str, error: Exception) -> UnforeseenError:
        """The error for ``file``, with ``error`` as its cause."""
        found = cls(
            file,
            1,
            "page",
            f"no figures: {type(error).__name__}: {error}",
            "a page that the handbook can compute; this is a fault of the program, please report it with the page",
        )
        found.__cause__ = error
        return found


class FaultsError(HandbookError):
    """All faults that one run found, sorted by file and line. ``warnings`` are those of the pages without a fault."""

    warnings: tuple[str, ...] = ()

    def __init__(self, faults: list[PageError]):
        self.faults = sorted(faults, key=lambda fault: (fault.file, fault.line, fault.key))
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


def format_fault(read: str, allowed: str, suggestion: str = "", *, limit: int = 80) -> str:
    """``read <what was read>; allowed: <set, range or form>[. Did you mean <x>?]``, always on one line."""
    read = printable(read, limit)
    read = f'"{read}"' if not read.startswith(("nothing", "a list", "a table", "no ")) else read
    return f"read {read}; allowed: {printable(allowed, max(600, limit))}" + (
        f". Did you mean {printable(suggestion, 600)}?" if suggestion else ""
    )


def printable(text: str, limit: int = 80) -> str:
    """``text`` on one line of at most ``limit`` characters that is safe to print: control characters are replaced.

    >>> printable("two\\nlines, \\x1b[31mred")
    'two lines, \ufffd[31mred'
    """
    text = " ".join(text.split())
    text = text if len(text) <= limit else text[: limit - 3] + "..."
    return without_commands(CONTROLS.sub("\ufffd", text))


def without_commands(line: str) -> str:
    """The line without the log commands that a build service would obey.

    Such commands are "::" at the start of a line and "##" before a word in brackets (common practice, no source). A
    space splits both signs.

    >>> without_commands("  ::set::x"), without_commands("read ##[group]"), without_commands("salt :: sugar")
    ('  : :set::x', 'read # #[group]', 'salt :: sugar')
    """
    return _COMMAND.sub(lambda found: f"{found[1]}: :" if found[2] else "# #", line)
