"""Links to pages that this person may open."""

from typing import Any

from django.urls import NoReverseMatch, reverse

from crews import policy
from crews.models import User


def link(user: User, name: str, *args: Any, query: str = "") -> str:
    """The address of the page named `name`, with `query` (as QueryDict.urlencode gives it) behind it; "" where there is
    no such page or this person may not open it."""
    if not policy.may_open(user, name, "GET"):
        return ""
    try:
        address = reverse(name, args=args)
    except NoReverseMatch:
        return ""
    return f"{address}?{query}" if query else address


def register(user: User, name: str, query: str) -> str:
    """The address of the register of that name, asked as `query` says; "" where this person may not print it."""
    return link(user, "register", name, query=query) if policy.may_print(user, name) else ""
