"""Crews, pickers, blocks, plans, stores, and lists to import."""

from django.urls import path

from equipment.pages.crews import (
    blocks,
    crew,
    crew_list,
    importing,
    moving,
    picker,
    picker_list,
    plans,
    stores,
    today,
    training,
    week,
)

urlpatterns = [
    path("crews/", crew_list.crew_list, name="crews"),
    path("crews/<str:code>/", crew.crew, name="crew"),
    path("crews/<str:code>/today/", today.crew_today, name="crew_today"),
    path("crews/<str:code>/today/<slug:what>/", today.crew_told, name="crew_told"),
    path("crews/<str:code>/training/", training.crew_training, name="crew_training"),
    path("crews/<str:code>/training/undo/", training.crew_lesson_undo, name="crew_lesson_undo"),
    path("crews/<str:code>/new-picker/", crew.add_picker, name="crew_new_picker"),
    path("pickers/", picker_list.picker_list, name="pickers"),
    path("pickers/move/", moving.move, name="picker_move"),
    path("pickers/<int:pk>/", picker.picker, name="picker"),
    path("pickers/<int:pk>/card/", picker.card, name="picker_card"),
    path("blocks/", blocks.block_list, name="blocks"),
    path("blocks/<str:code>/", blocks.block, name="block"),
    path("blocks/<str:code>/delete/", blocks.delete_block, name="block_delete"),
    path("plans/", week.week, name="plans"),
    path("plans/new/", plans.new_plan, name="plan_new"),
    path("plans/copy/", week.copy_plans, name="plans_copy"),
    path("plans/<int:pk>/", plans.plan, name="plan"),
    path("stores/", stores.store_list, name="stores"),
    path("stores/<str:code>/", stores.store, name="store"),
    path("import/", importing.upload, name="import"),
    path("import/<uuid:pk>/", importing.confirm, name="import_confirm"),
    path("import/<str:kind>.csv", importing.header, name="import_header"),
]
