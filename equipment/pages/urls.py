"""The pages; their names are those that the policy speaks of."""

from django.urls import path

from equipment.pages import (
    board,
    cards,
    clearance,
    due,
    gear,
    health,
    item,
    labels,
    landing,
    me,
    orchard,
    paper,
    registering,
    sets,
    sought,
    still_out,
)
from equipment.pages.audits.urls import urlpatterns as audit_pages
from equipment.pages.bench import slips
from equipment.pages.bench import views as at_bench
from equipment.pages.calibrate import views as of_the_scanner
from equipment.pages.counter import views as at_counter
from equipment.pages.crews.urls import urlpatterns as crew_pages
from equipment.pages.devices.urls import urlpatterns as of_the_devices
from equipment.pages.figures.urls import urlpatterns as figure_pages
from equipment.pages.goods.urls import urlpatterns as goods_pages
from equipment.pages.plan.urls import urlpatterns as plan_pages
from equipment.pages.registers.urls import urlpatterns as register_pages
from equipment.pages.rules import views as of_the_rules
from equipment.pages.settle.urls import urlpatterns as settle_pages
from equipment.pages.shell.urls import urlpatterns as of_the_phone
from equipment.pages.signing_in.urls import urlpatterns as of_the_door
from equipment.pages.stocktake.urls import urlpatterns as stocktake_pages
from equipment.pages.trace.urls import urlpatterns as trace_pages
from equipment.pages.wash.urls import urlpatterns as wash_pages
from equipment.pages.watching.metrics import metrics

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
    path("counter/calibrate/", of_the_scanner.calibrate, name="calibrate"),
    path("counter/calibrate/alphabet.pdf", of_the_scanner.alphabet_pdf, name="calibrate_pdf"),
    # Labels, cards and paper
    path("gear/register/", registering.registering, name="registering"),
    path("labels/", labels.label_page, name="labels"),
    path("cards/", cards.card_page, name="cards"),
    path("cards/badges.pdf", cards.badges_pdf, name="badges_pdf"),
    path("cards/day-cards.pdf", cards.day_cards_pdf, name="day_cards_pdf"),
    path("cards/set-tags.pdf", cards.set_tags_pdf, name="set_tags_pdf"),
    path("cards/crew-tags.pdf", cards.crew_tags_pdf, name="crew_tags_pdf"),
    path("cards/counter-tags.pdf", cards.counter_tags_pdf, name="counter_tags_pdf"),
    path("cards/fault-tags.pdf", cards.fault_tags_pdf, name="fault_tags_pdf"),
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
    path("board/due/", due.board_due, name="board_due"),
    path("gear/", gear.gear, name="gear"),
    path("find/<slug:page>/", sought.find, name="find"),
    path("gear/<str:tag>/", item.item, name="item"),
    path("gear/<str:tag>/<slug:name>/", item.item_act, name="item_act"),
    path("still-out/", still_out.still_out, name="still_out"),
    path("still-out/season/", still_out.season_end, name="season_end"),
    path("still-out/season.pdf", still_out.season_end_pdf, name="season_end_pdf"),
    path("pickers/<int:pk>/clearance/", clearance.clearance, name="clearance"),
    path("t/<path:tag>", landing.tag, name="tag"),
    # The bench
    path("bench/", at_bench.bench, name="bench"),
    path("bench/do-not-use.pdf", slips.do_not_use_pdf, name="do_not_use_pdf"),
    path("bench/<str:tag>/<slug:name>/", at_bench.bench_act, name="bench_act"),
    path("me/", me.me, name="me"),
    # Whoever watches over the server
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("metrics", metrics, name="metrics"),
    # The supervisor's phone
    path("orchard/", orchard.orchard, name="orchard"),
    # The rules
    path("rules/", of_the_rules.rules, name="rules"),
    path("rules/<slug:slug>/", of_the_rules.rule, name="rule"),
    *audit_pages,
    *crew_pages,
    *goods_pages,
    *plan_pages,
    *of_the_devices,
    *of_the_door,
    *of_the_phone,
    *wash_pages,
    *trace_pages,
    *settle_pages,
    *stocktake_pages,
    *register_pages,
    *figure_pages,
]
