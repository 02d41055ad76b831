"""Keyset pages: `{"results": [...], "next": url or null}`."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.pagination import Cursor, CursorPagination
from rest_framework.request import Request
from rest_framework.response import Response

LIMIT = serializers.IntegerField(min_value=1)


class KeysetPages(CursorPagination):
    page_size = 100
    page_size_query_param = "limit"
    max_page_size = 500
    ordering = "pk"

    def get_page_size(self, request: Request) -> int:
        """At most `max_page_size`, however many are asked for. Raises ValidationError for what is no number."""
        asked = request.query_params.get(self.page_size_query_param)
        if asked is None:
            return self.page_size
        return min(LIMIT.run_validation(asked), self.max_page_size)

    def paginate_queryset(
        self, queryset: QuerySet[Any], request: Request, view: Any = None
    ) -> list[Any] | None:
        """A page; NotFound where somebody has made up a cursor that is no key of these rows."""
        try:
            page: list[Any] | None = super().paginate_queryset(queryset, request, view)
        except (ValidationError, ValueError):
            raise NotFound(self.invalid_cursor_message) from None
        return page

    def decode_cursor(self, request: Request) -> Cursor | None:
        cursor = super().decode_cursor(request)
        if cursor and "\x00" in (cursor.position or ""):  # PostgreSQL cannot even be asked for it
            raise NotFound(self.invalid_cursor_message)
        return cursor

    def get_paginated_response(self, data: Any) -> Response:
        return Response({"results": data, "next": self.get_next_link()})

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        parameters: list[dict[str, Any]] = super().get_schema_operation_parameters(view)
        for parameter in parameters:
            if parameter["name"] == self.page_size_query_param:
                parameter["schema"]["minimum"] = 1
        return parameters

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        return {
            "type": "object",
            "required": ["results", "next"],
            "properties": {"results": schema, "next": {"type": "string", "format": "uri", "nullable": True}},
        }
