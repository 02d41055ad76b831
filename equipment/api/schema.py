"""The API described: OpenAPI, and a page to read it on that asks nothing of the outside."""

from typing import Any

from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView

# What any address may answer, and what any list may.
EVERYWHERE = {"401": "Nobody is signed in.", "403": "Whoever asks has no right to it."}
LISTS = {"400": "A word of the address cannot be read.", "404": "There is no such page."}


class SchemaView(SpectacularAPIView):
    """OpenAPI 3 of everything under /api/."""


class DocsView(SpectacularSwaggerSplitView):
    """Swagger UI, its script split off so that the content policy needs no inline script."""

    url_name = "api:schema"
    template_name = "api_docs.html"


def refused_everywhere(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Adds the refusals that no view answers by itself."""
    for methods in result["paths"].values():
        for operation in methods.values():
            named = {parameter["name"] for parameter in operation.get("parameters", ())}
            refusals = EVERYWHERE | (LISTS if "cursor" in named else {})
            for status, description in refusals.items():
                operation["responses"].setdefault(status, _refusal(description))
    return result


def _refusal(description: str) -> dict[str, Any]:
    schema = {"$ref": "#/components/schemas/ErrorOut"}
    return {"description": description, "content": {"application/json": {"schema": schema}}}
