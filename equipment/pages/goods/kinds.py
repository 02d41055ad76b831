"""What goods there are: the catalogue's and the farm's own, and how much of each is low."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from crews import policy
from equipment.actions.amounts import amount
from equipment.models import Goods
from equipment.pages.goods.forms import GoodsForm

LONGEST = 34


@require_GET
def goods_kinds(request: HttpRequest) -> HttpResponse:
    rows = [
        {"goods": each, "low": amount(each.low, each.unit) if each.low is not None else ""}
        for each in Goods.objects.all()
    ]
    may_set = policy.may_open(request.user, "goods_kind", "POST")
    return render(request, "goods_kinds.html", {"rows": rows, "may_set": may_set})


def goods_kind_new(request: HttpRequest) -> HttpResponse:
    return _kind(request, Goods(own=True, position=1000))


def goods_kind(request: HttpRequest, code: str) -> HttpResponse:
    return _kind(request, get_object_or_404(Goods, pk=code))


def _kind(request: HttpRequest, row: Goods) -> HttpResponse:
    form = GoodsForm(request.POST or None, instance=row)
    if form.is_valid():
        goods = form.save(commit=False)
        goods.own = True
        goods.code = goods.code or _free_code(goods.name)
        goods.save()
        messages.success(request, _("%(goods)s: it holds as you set it.") % {"goods": goods})
        return redirect("goods_kinds")
    context = {"form": form, "goods": row if row.code else None}
    return render(request, "goods_kind.html", context, status=400 if form.is_bound else 200)


def _free_code(name: str) -> str:
    """A code of the name, which entries will name it by for ever."""
    begun = slugify(name).replace("-", "_")[:LONGEST] or "goods"
    taken = set(Goods.objects.filter(pk__startswith=begun).values_list("pk", flat=True))
    if begun not in taken:
        return begun
    return next(code for n in range(2, len(taken) + 3) if (code := f"{begun}_{n}") not in taken)
