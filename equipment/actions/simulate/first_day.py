"""What is handed out for the whole season, before the first picking."""

from equipment.actions.simulate.day import Day
from equipment.actions.simulate.morning import fits


def first_day(day: Day) -> None:
    """Gumboots and overalls to those they fit, a bulk bin to each crew; the handout does the rest."""
    for store in day.farm.stores:
        at = day.at("04:40")
        for team in day.teams(store):
            for piece in list(day.farm.free(store, "bin"))[:1]:
                at += day.a_while(5, 9)
                day.hand_out(at, piece, team)
        people = [person for team in day.teams(store) for person in team.people]
        for kind in ("gumboots", "overalls"):
            for piece in list(day.farm.free(store, kind)):
                fitting = [
                    p for p in people if not p.held[kind] and fits(piece, p.wants(day.farm.kinds[kind]))
                ]
                if person := day.some(fitting):
                    at += day.a_while(5, 9)
                    day.hand_out(at, piece, person)
