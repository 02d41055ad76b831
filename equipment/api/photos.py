"""`/api/photos/<sha256>/`: a photo under the digest of the file as it was taken."""

from collections.abc import Mapping
from typing import IO, Any

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import APIException
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.actions.keep_photo import MOST_BYTES, keep_photo
from equipment.actions.shrink_photo import FORMATS, PhotoRefused
from equipment.api.answers import ErrorOut
from equipment.models import Photo

# Not for a year: a photo that is erased here should not live on in browsers.
CACHED_FOR = 24 * 60 * 60


class Refused(APIException):
    """A photo that is not taken: 413 where a smaller one would be, else 400."""

    def __init__(self, error: PhotoRefused) -> None:
        super().__init__(str(error))
        self.stable_code = error.code
        self.status_code = 413 if error.code == "too_large" else 400


class Erased(APIException):
    status_code = 410
    default_code = "erased"
    default_detail = gettext_lazy("This photo has been erased.")


class PhotoBytes(BaseParser):
    """The body as it is, and no more of it than a photo has. What it is, the bytes say, not the content type."""

    media_type = "image/*"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        body = stream.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            said = _("This file has more than %(most)s MB. Send a smaller picture.")
            raise Refused(PhotoRefused("too_large", said % {"most": MOST_BYTES // 1_000_000}))
        return body


class PhotoOut(serializers.ModelSerializer[Photo]):
    class Meta:
        model = Photo
        fields = "sha256 width height size erased_at".split()


class PhotoView(APIView):
    parser_classes = (PhotoBytes,)

    def perform_content_negotiation(self, request: Request, force: bool = False) -> Any:
        """Who asks for an image gets one from `get`, and errors as JSON all the same."""
        return super().perform_content_negotiation(request, force=True)

    @extend_schema(
        operation_id="keep_photo",
        request={f"image/{name.lower()}": OpenApiTypes.BINARY for name in FORMATS},
        responses={
            200: OpenApiResponse(PhotoOut, description="Known already."),
            201: OpenApiResponse(PhotoOut, description="Kept."),
            400: OpenApiResponse(ErrorOut, description="No picture (`not_a_photo`), or not of this name."),
            413: OpenApiResponse(ErrorOut, description="More than 12 MB or 24 megapixels (`too_large`)."),
            415: OpenApiResponse(ErrorOut, description="The content type is not image/*."),
        },
    )
    def put(self, request: Request, sha256: str) -> Response:
        """Keep a photo under the SHA-256 of the file; sending it again is harmless. Kept without its metadata."""
        body = request.data if isinstance(request.data, bytes) else b""
        try:
            photo, new = keep_photo(body, request.user, timezone.now(), named=sha256)
        except PhotoRefused as error:
            raise Refused(error) from error
        return Response(PhotoOut(photo).data, status=201 if new else 200)

    @extend_schema(
        operation_id="photo",
        responses={
            (200, "image/jpeg"): OpenApiTypes.BINARY,
            404: ErrorOut,
            410: OpenApiResponse(ErrorOut, description="It has been erased (`erased`)."),
        },
    )
    def get(self, request: Request, sha256: str) -> HttpResponse:
        """The photo as it is kept: a JPEG of at most 300 kB, whatever was sent."""
        photo = Photo.objects.filter(pk=sha256.lower()).first() if sha256.isalnum() else None
        if photo is None:
            raise Http404
        if photo.erased_at:
            raise Erased
        headers = {
            "Cache-Control": f"private, max-age={CACHED_FOR}, immutable",
            "Content-Disposition": f'inline; filename="fault-{photo.pk[:12]}.jpg"',
            "X-Content-Type-Options": "nosniff",
        }
        return HttpResponse(bytes(photo.data), content_type="image/jpeg", headers=headers)
