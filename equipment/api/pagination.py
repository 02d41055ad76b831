"""Keyset pages: `{"results": [...], "next": url or null}`."""

from typing import Any

from rest_framework.pagination import CursorPagination
from rest_framework.response import Response


class KeysetPages(CursorPagination):
    page_size = 100
    page_size_query_param = "limit"
    max_page_size = 500
    ordering = "pk"

    def get_paginated_response(self, data: Any) -> Response:
        return Response({"results": data, "next": self.get_next_link()})

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        return {
            "type": "object",
            "required": ["results", "next"],
            "properties": {"results": schema, "next": {"type": "string", "format": "uri", "nullable": True}},
        }
