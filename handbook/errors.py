"""The errors of the engine: one narrow class per mistake, text built from its parts."""

from __future__ import annotations


class HandbookError(ValueError):
    """Base of every error that a user of the handbook can cause."""


class UnitError(HandbookError):
    """A text is not one number and one known unit of the wanted dimension."""

    def __init__(self, read: str, allowed: str, suggestion: str = ""):
        super().__init__(read, allowed, suggestion)
        self.read, self.allowed, self.suggestion = read, allowed, suggestion

    def __str__(self) -> str:
        return format_fault(self.read, self.allowed, self.suggestion)


class RangeError(HandbookError):
    """A value lies outside the range in which a formula or a limit holds."""

    def __init__(self, name: str, value: float, allowed: str):
        super().__init__(name, value, allowed)
        self.name, self.value, self.allowed = name, value, allowed

    def __str__(self) -> str:
        return f"{self.name}: read {self.value:g}; allowed: {self.allowed}"


class SourceError(HandbookError):
    """A figure names a source that is in no list of sources."""


class PageError(HandbookError):
    """One fault of one page or house file: where it stands, what was read, what is allowed."""

    def __init__(self, file: str, line: int, key: str, read: str, allowed: str, suggestion: str = ""):
        super().__init__(file, line, key, read, allowed, suggestion)
        self.file, self.line, self.key = file, line, key
        self.read, self.allowed, self.suggestion = read, allowed, suggestion

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.key}: {format_fault(self.read, self.allowed, self.suggestion)}"


class FaultsError(HandbookError):
    """Every fault that one run found, in file and line order."""

    def __init__(self, faults: list[PageError]):
        self.faults = sorted(faults, key=lambda fault: (fault.file, fault.line, fault.key))
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


def format_fault(read: str, allowed: str, suggestion: str = "") -> str:
    """``read <what was read>; allowed: <set, range or form>[. Did you mean <x>?]``, always on one line."""
    read = " ".join(read.split())
    if len(read) > 80:
        read = read[:77] + "..."
    read = f'"{read}"' if not read.startswith(("nothing", "a list", "a table", "no ")) else read
    return f"read {read}; allowed: {allowed}" + (f". Did you mean {suggestion}?" if suggestion else "")
