"""The bare view, see `tests.benchmarks.bare`."""

from uuid import UUID, uuid4

from django.urls import path
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.ledger import writing
from equipment.models import Attempt, ItemState, KeptEntry


class Bare(APIView):
    def post(self, request: Request) -> Response:
        sent = request.data
        entry, now = sent["entries"][0], timezone.now()
        with writing():
            state = ItemState.objects.get(tag=entry["item"])
            common = {"by": request.user, "device_id": UUID(sent["device"]), "store_id": "A"}
            Attempt.objects.create(entry_id=uuid4(), at=now, verb=entry["verb"], subject=state.tag, **common)
            KeptEntry.objects.create(
                raw="{}", raw_digest=uuid4().hex, code=entry["verb"], received_at=now, **common
            )
            ItemState.objects.filter(pk=state.pk).update(due_at=now)
        return Response({"answers": [{"id": entry["id"], "outcome": "recorded"}]})


urlpatterns = [path("api/entries/", Bare.as_view())]
