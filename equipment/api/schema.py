"""The API described: OpenAPI, and a page to read it on that asks nothing of the outside."""

from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView


class SchemaView(SpectacularAPIView):
    """OpenAPI 3 of everything under /api/."""


class DocsView(SpectacularSwaggerSplitView):
    """Swagger UI, its script split off so that the content policy needs no inline script."""

    url_name = "api:schema"
    template_name = "api_docs.html"
