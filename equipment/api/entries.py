"""`POST /api/entries/`: the one way to write."""

from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.models import Device, Store, User
from equipment.actions.batch import Batch
from equipment.actions.hear_phone import hear
from equipment.actions.raw import MOST
from equipment.actions.receive import receive
from equipment.api import answers, parsing
from equipment.ledger import watched


@extend_schema_field({"type": "array", "items": {}, "maxItems": MOST})
class Entries(serializers.Field):
    """A list of anything: what is wrong with one entry must not fail the rest, so each is looked at later."""

    default_error_messages = {"no_list": gettext_lazy("Expected a list.")}

    def to_internal_value(self, data: Any) -> list[Any]:
        if not isinstance(data, list):
            self.fail("no_list")
        return data


class TextUUID(serializers.UUIDField):
    """A UUID as text. Django REST framework takes whole numbers too, so that 0 and false would each be a device."""

    def to_internal_value(self, data: Any) -> UUID:
        if not isinstance(data, str):
            self.fail("invalid", value=data)
        own: UUID = super().to_internal_value(data)
        return own


class BatchIn(serializers.Serializer[Any]):
    device = TextUUID()
    store = serializers.CharField(required=False, allow_null=True, max_length=20)
    sent_at = serializers.DateTimeField()
    gate = serializers.ChoiceField(choices=["hold", "note"])
    entries = Entries()


# It holds no request, so one serves all: to make its fields anew costs more than to look at a batch.
BATCH = BatchIn()


class EntriesView(APIView):
    @extend_schema(
        operation_id="record_entries",
        parameters=[
            OpenApiParameter(
                "X-Unsent",
                str,
                OpenApiParameter.HEADER,
                description="A phone: how many entries it still has.",
            )
        ],
        request=BatchIn,
        responses={
            200: answers.ReceivedOut,
            400: OpenApiResponse(answers.ErrorOut, description="The request cannot be read at all."),
            413: OpenApiResponse(answers.ErrorOut, description="More than 500 entries."),
        },
    )
    def post(self, request: Request) -> Response:
        """Record entries, each answered in the order of the request; one bad entry never fails the rest."""
        received_at = timezone.now()
        asked = _read(request.data)
        device = _device(asked["device"], request)
        store = _store(asked.get("store"), device, request.user)
        batch = Batch(
            _person(request), device, store, asked["gate"], asked["sent_at"], received_at, asked["entries"]
        )
        received = receive(batch)
        watched.refused([each.codes[0] for each in received.answers if each.outcome == "refused"], device.pk)
        answer = answers.received(received)
        hear(device, request.headers.get("X-Unsent"), received_at)
        return Response(answer)


def _person(request: Request) -> User:
    """Who is signed in, without the proxy around them: they are asked some thirty things for each entry."""
    person: User = getattr(request.user, "_wrapped", request.user)
    return person


def _read(data: Any) -> dict[str, Any]:
    if isinstance(data, dict) and isinstance(data.get("entries"), list) and len(data["entries"]) > MOST:
        said = _("At most %(most)s entries at once; this request has %(sent)s.")
        raise parsing.TooMany(said % {"most": MOST, "sent": len(data["entries"])})
    asked: dict[str, Any] = BATCH.run_validation(data)
    return asked


def _device(device_id: UUID, request: Request) -> Device:
    """The device as enrolled; one that is new belongs to whoever it writes for first."""
    try:
        return Device.objects.get(pk=device_id)
    except Device.DoesNotExist:
        kind = Device.Kind.TOKEN if request.auth else Device.Kind.COUNTER
        new = {"kind": kind, "owner": request.user}
        return Device.objects.get_or_create(pk=device_id, defaults=new)[0]


def _store(code: str | None, device: Device, user: User) -> str:
    """The store whose book is written: as sent, else the device's, the user's, or the farm's only one."""
    known = device.store_id or user.store_id
    if known and code in (None, known):
        return str(known)
    stores = Store.objects.filter(pk=code.strip().upper()) if code is not None else Store.objects.all()
    found = list(stores.values_list("pk", flat=True)[:2])
    if len(found) != 1:
        raise serializers.ValidationError({"store": [_("Say which store this is written in, by its code.")]})
    return str(found[0])
