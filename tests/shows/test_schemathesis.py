"""Schemathesis asks all that the API's description allows, and what it does not, as each role and as a stranger.

All its checks: no server error; no status, content type, header or body that is not described; what is described as
wrong is refused, and what is described as right is taken; other methods are refused, and so is who gives no name.
`tests/schemathesis.toml` says where one check does not fit one operation, and why.
"""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from rest_framework.authtoken.models import Token
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import events, from_schema

from tests.cast import ROLES, found_farm

pytestmark = [
    pytest.mark.django_db(transaction=True),
    # What it draws is larger than Hypothesis would print.
    pytest.mark.filterwarnings("ignore::hypothesis.errors.HypothesisWarning"),
]
CONFIG = Path(__file__).parents[1] / "schemathesis.toml"
STRANGER = "a stranger"


def asked(address: str, token: str, *, named: bool, examples: int, whole: bool) -> Iterator[Any]:
    """What Schemathesis did, an event each: `examples` requests an operation, and of the `whole` one for every rule of
    the description too. The description itself is read by `token`, what is `named` is asked by it."""
    config = SchemathesisConfig.from_path(CONFIG)
    config.update(seed=1, max_failures=None)
    config.projects.override.generation.max_examples = examples
    config.projects.override.phases.coverage.enabled = whole
    head = {"Authorization": f"Token {token}"}
    described = f"{address}/api/schema/?format=json"
    schema = schemathesis.openapi.from_url(described, config=config, headers=head)
    # A line that stays open keeps the server's thread, and its connection to the database, after the last test.
    schema.config.headers = {"Connection": "close"} | (head if named else {})
    return iter(from_schema(schema).execute())


def faults(event: Any) -> Iterator[str]:
    """What was found wrong, with the request that shows it."""
    if isinstance(event, events.NonFatalError | events.FatalError):
        yield repr(event)
    if isinstance(event, events.ScenarioFinished):
        for check in (check for checks in event.recorder.checks.values() for check in checks):
            if found := check.failure_info:
                yield f"{event.recorder.label}: {check.name}: {found.failure.message}\n{found.code_sample}"


def statuses(event: Any) -> Counter[int]:
    """Answers by status."""
    asked = event.recorder.interactions.values() if isinstance(event, events.ScenarioFinished) else ()
    return Counter(each.response.status_code for each in asked if each.response)


@pytest.mark.parametrize("name", [*ROLES, STRANGER])
def test_nothing_undocumented(name: str, live_server, times, figure) -> None:
    farm, seen, found = found_farm(), Counter[int](), list[str]()
    token = Token.objects.create(user=farm.users.get(name, farm.users["olga"])).key
    short, named = times(0, 1) == 0, name != STRANGER
    for event in asked(live_server.url, token, named=named, examples=2 if short else 20, whole=not short):
        found += faults(event)
        seen += statuses(event)
    assert not found, "\n\n".join(found)
    assert seen.keys() <= {401, 404, 405} or named, seen
    assert seen[200] > seen.total() / 20 or not named, f"hardly anything was let in: {seen}"
    assert seen.total() >= times(30, 500)
    by_status = ", ".join(f"{count} of {status}" for status, count in sorted(seen.items()))
    figure(f"as {ROLES.get(name, name)} {seen.total()} requests ({by_status}), nothing undocumented")
