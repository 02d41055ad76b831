"""Whose wash place this is: the store that was asked for, that of this counter, or the person's own."""

from urllib.parse import urlencode

from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest
from django.shortcuts import get_object_or_404

from crews import policy
from crews.models import Store, User
from equipment.models import BathState
from equipment.pages.counter.here import counter_of


def stores(user: User) -> QuerySet[Store]:
    """Those whose wash place this person may see: a supervisor their own, and those that their crews draw from."""
    if policy.only_own_crews(user):
        return Store.objects.filter(Q(pk=user.store_id) | Q(crews__supervisor=user)).distinct()
    return Store.objects.all()


def store_of(request: HttpRequest) -> Store:
    """Raises Http404 where this person has none."""
    known = {store.pk: store for store in stores(request.user)}  # type: ignore[arg-type]
    counter = counter_of(request)
    here = counter.store_id if counter else None
    asked = (request.GET.get("store"), here, request.user.store_id, *known)  # type: ignore[union-attr]
    for code in asked:
        if code in known:
            return known[code]
    raise Http404


def others(user: User, here: Store) -> list[Store]:
    return [store for store in stores(user) if store.pk != here.pk]


def bath_of(user: User, own: object) -> BathState:
    """Raises Http404 for a bath that was never mixed, and for that of a store which is none of theirs."""
    rows = BathState.objects.filter(mixed_at__isnull=False).select_related("store")
    return get_object_or_404(rows.filter(store__in=stores(user)), pk=own)


def at_store(address: str, store: str, **query: str) -> str:
    """The address of a page, for this store."""
    return f"{address}?{urlencode({'store': store, **query})}"
