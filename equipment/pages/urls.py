"""The pages; their names are those that the policy speaks of."""

from django.urls import path

from equipment.pages import (
    board,
    cards,
    clearance,
    gear,
    item,
    labels,
    landing,
    paper,
    registering,
    sets,
    still_out,
)
from equipment.pages.counter import views as at_counter
from equipment.pages.crews.urls import urlpatterns as crew_pages

urlpatterns = [
    # The counter
    path("counter/", at_counter.counter, name="counter"),
    path("counter/here/", at_counter.counter_here, name="counter_here"),
    path("counter/kit/<str:code>/", at_counter.kit, name="counter_kit"),
    path("counter/owes/<str:code>/", at_counter.owes, name="counter_owes"),
    path("counter/set/<str:code>/", at_counter.pieces, name="counter_set"),
    path("counter/sheet/", at_counter.offline_sheet, name="counter_sheet"),
    path("counter/day-card/", at_counter.day_card, name="counter_day_card"),
    path("counter/new-picker/", at_counter.add_picker, name="counter_new_picker"),
    path("counter/crew/<str:code>/", at_counter.crew_morning, name="counter_crew"),
    path(
        "counter/crew/<str:code>/figures/",
        at_counter.crew_morning,
        {"template": "_partials/crew_figures.html"},
        name="counter_figures",
    ),
    path(
        "counter/crew/<str:code>/names/",
        at_counter.crew_morning,
        {"template": "_partials/crew_names.html"},
        name="counter_names",
    ),
    # Labels, cards and paper
    path("gear/register/", registering.registering, name="registering"),
    path("labels/", labels.label_page, name="labels"),
    path("cards/", cards.card_page, name="cards"),
    path("cards/badges.pdf", cards.badges_pdf, name="badges_pdf"),
    path("cards/day-cards.pdf", cards.day_cards_pdf, name="day_cards_pdf"),
    path("cards/set-tags.pdf", cards.set_tags_pdf, name="set_tags_pdf"),
    path("cards/crew-tags.pdf", cards.crew_tags_pdf, name="crew_tags_pdf"),
    path("cards/counter-tags.pdf", cards.counter_tags_pdf, name="counter_tags_pdf"),
    path("cards/new/<str:what>/", cards.new_cards, name="new_cards"),
    path("sets/", sets.sets, name="sets"),
    path("sets/<str:code>/", sets.one_set, name="set"),
    path("sets/<str:code>/take-out/<str:tag>/", sets.unpack, name="unpack"),
    path("paper/", paper.paper, name="paper"),
    path("paper/crews.pdf", paper.crew_pages_pdf, name="crew_pages_pdf"),
    path("paper/enter/", paper.enter_paper, name="enter_paper"),
    # The board, the gear and what is still out
    path("", board.board_page, name="board"),
    path("board/lines/", board.board_lines, name="board_lines"),
    path("gear/", gear.gear, name="gear"),
    path("gear/<str:tag>/", item.item, name="item"),
    path("gear/<str:tag>/<slug:name>/", item.item_act, name="item_act"),
    path("still-out/", still_out.still_out, name="still_out"),
    path("still-out/season/", still_out.season_end, name="season_end"),
    path("still-out/season.pdf", still_out.season_end_pdf, name="season_end_pdf"),
    path("pickers/<int:pk>/clearance/", clearance.clearance, name="clearance"),
    path("t/<path:tag>", landing.tag, name="tag"),
    *crew_pages,
]
