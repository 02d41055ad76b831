from django.urls import path

from equipment.pages.goods import counting, kinds, moving, views

urlpatterns = [
    path("goods/", views.goods, name="goods"),
    path("goods/receive/", moving.goods_receive, name="goods_receive"),
    path("goods/count/", counting.goods_count, name="goods_count"),
    path("goods/kinds/", kinds.goods_kinds, name="goods_kinds"),
    path("goods/kinds/new/", kinds.goods_kind_new, name="goods_kind_new"),
    path("goods/kinds/<slug:code>/", kinds.goods_kind, name="goods_kind"),
    path("goods/take/<slug:code>/", moving.goods_take, name="goods_take"),
    path("goods/lots/<uuid:lot>/", views.goods_lot, name="goods_lot"),
    path("goods/lots/<uuid:lot>/discard/", views.goods_discard, name="goods_discard"),
    path("goods/lots/<uuid:lot>/strike/", views.goods_strike, name="goods_strike"),
]
