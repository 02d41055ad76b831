"""JSON as it comes in: UTF-8 (RFC 8259), and no more of it than the largest honest batch."""

import json
from collections.abc import Mapping
from typing import IO, Any

from django.utils.translation import gettext as _
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import BaseParser

# 500 entries, each with a note of 2,000 letters that are all escaped, are shorter.
MOST_BYTES = 10_000_000


class TooMany(APIException):
    status_code = 413
    default_code = "too_many"


class Json(BaseParser):
    """`NaN` and `Infinity` are no JSON. A declared charset is not believed: JSON has one."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        body = stream.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            raise TooMany(_("This request is too long. Send fewer entries at once."))
        try:
            return json.loads(body.decode(), parse_constant=_refuse)
        except (ValueError, RecursionError) as error:
            raise ParseError(_("This is not JSON: %(why)s") % {"why": error}) from None


def _refuse(name: str) -> None:
    raise ValueError(f"{name} is no number")
