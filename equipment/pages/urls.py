"""The pages; their names are those that the policy speaks of."""

from django.urls import path

from equipment.pages import cards, labels, paper, registering

urlpatterns = [
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
    path("paper/", paper.paper, name="paper"),
    path("paper/crews.pdf", paper.crew_pages_pdf, name="crew_pages_pdf"),
    path("paper/enter/", paper.enter_paper, name="enter_paper"),
]
