"""The cost on a method's page. It is inserted into the finished page, so a changed price renders nothing else again."""

from __future__ import annotations

import re

from handbook.page.house import House
from handbook.report.cost import Bill, cost
from site_build.html.render import render

#: The page of a method with its cost.
LAYER = "why"
#: Marks of the cost in templates. They are comments, which an author's text cannot contain.
_PLACE = re.compile("<!--cost-->.*?<!--/cost-->", re.DOTALL)


def cost_html(bill: Bill, house: House) -> str:
    """The cost of a method, empty where the house states no prices."""
    found = cost(bill, house) if house.prices else None
    return render("cost.html", cost=found, currency=house.currency)


def with_cost(html: str, shown: str) -> str:
    """A page with ``shown``, from ``cost_html``, in place of its present cost."""
    return _PLACE.sub(lambda _: f"<!--cost-->{shown}<!--/cost-->", html)
