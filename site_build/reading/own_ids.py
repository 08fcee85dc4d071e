"""Ids that the author's words may not bear: those of the page's frame, and those that scripts look for.

A browser gives a script the first element with an id: one of the author's would stand before the computed part's own.
"""

#: Of every page: site_build/theme.
FRAME_IDS = frozenset(["find-field", "find-slip", "sheet", "sheets"])
#: Of method pages: what scripts look for whether a page has it or not, and the history, which is made later.
METHOD_IDS = frozenset(
    [
        "bar",
        "batch",
        "batch-form",
        "batch-status",
        "history",
        "history-cap",
        "history-h",
        "kitchen",
        "method-data",
        "need",
        "plan-cap",
        "plan-form",
        "plan-status",
        "plan-words",
        "running",
        "standing",
        "thick-cap",
    ]
)
