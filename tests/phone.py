"""The rules on the phone, run in a real browser without a server.

`phone(body, vectors, shared)` hands all vectors over at once. `body` is the text of a JavaScript function of (modules,
vector, shared); it is called for each vector, and what it returns comes back in their order. `modules` are those of
`js/domain/`, by file name: `modules.clock.due(...)`; `shared` is the same for all.
"""

import json
import mimetypes
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Route

import equipment

SCRIPTS = Path(equipment.__file__).parent / "static/equipment/js"
HOME = "http://phone.invalid"
EACH = """async ([names, body, text]) => {
  const loaded = await Promise.all(names.map((name) => import(`/domain/${name}.js`)));
  const modules = Object.fromEntries(names.map((name, place) => [name, loaded[place]]));
  const {vectors, shared} = JSON.parse(text);
  const work = new Function('modules', 'vector', 'shared', `return (${body})(modules, vector, shared);`);
  return JSON.stringify(vectors.map((vector) => work(modules, vector, shared)));
}"""

Phone = Callable[..., list[Any]]


@pytest.fixture(scope="module")
def phone(chromium: Browser) -> Iterator[Phone]:
    names = sorted(path.stem for path in (SCRIPTS / "domain").glob("*.js"))
    with chromium.new_context() as context:
        page = context.new_page()
        page.route(f"{HOME}/**", _serve)
        page.goto(f"{HOME}/")

        def call(body: str, vectors: Sequence[Any], shared: Any = None) -> list[Any]:
            # As text: the driver looks at every single value of what it is given otherwise.
            text = json.dumps({"vectors": vectors, "shared": shared})
            found: list[Any] = json.loads(page.evaluate(EACH, [names, body, text]))
            return found

        yield call


def _serve(route: Route) -> None:
    path = urlsplit(route.request.url).path
    if path == "/":
        route.fulfill(body="<!doctype html><title>A phone</title>", content_type="text/html")
    else:
        found = SCRIPTS / path.lstrip("/")
        route.fulfill(body=found.read_text(), content_type=mimetypes.guess_type(found.name)[0])
