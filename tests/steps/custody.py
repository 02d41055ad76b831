"""Who has an item, and where it lies; and what is true of every subject."""

from dataclasses import replace
from typing import Any

from equipment.domain.values import CrewState, ItemState, Stint
from tests.steps import BEFORE, EARLIER, GONE, IN_STORE, LET_GO, NOW, OWN, SAME, WITH_ANA, WITH_RED, of

HAD = {"stints": (Stint(1, "RED", BEFORE, BEFORE),)}
STOWED = replace(WITH_RED, place="orchard", block="N4")
MISSING = replace(WITH_ANA, place="missing", **HAD)
PACKED = replace(IN_STORE, set="ST1")
WET = replace(WITH_ANA, wet_at=BEFORE)
ON_BENCH = replace(IN_STORE, place="bench")
RED = CrewState(members={1: BEFORE})

NOBODY = {"picker": None, "crew": None, "block": None, "since": NOW}
BEN = {"picker": 2, "crew": "RED"}
TO_BEN: dict[str, Any] = {
    "place": "picker",
    **BEN,
    "block": None,
    "since": NOW,
    "set": None,
    "stints": (Stint(2, "RED", NOW),),
}
ANA_TO_BEN = TO_BEN | {"stints": (*LET_GO["stints"], Stint(2, "RED", NOW))}
BORN = {"detail": {"kind": "bag", "store": "A", "tag": "BG1"}}
NEW = {"kind": "bag", "tag": "BG1", "registered": True, "registered_at": NOW}

CASES = [
    of("registered", ItemState(), {"place": "store", "store": "A", "since": NOW, **NEW}, **BORN),
    of("registered", IN_STORE, SAME, "registered_twice", **BORN),
    of(  # a phone a minute behind: it handed out before, by its own clock
        "registered",
        replace(ItemState(), place="picker", picker=1, crew="RED", since=BEFORE),
        {"store": "A", **NEW},
        **BORN,
    ),
    of(
        "registered",
        replace(ItemState(), place="store", store="B", since=BEFORE, tag="BG2"),
        NEW | {"tag": "BG2"},
        **BORN,
    ),
    of("retagged", WITH_ANA, {"tag": "BG7"}, detail={"tag": "BG7"}),
    of("packed", IN_STORE, {"set": "ST1"}, detail={"set": "ST1"}),
    of("packed", PACKED, {"set": None}, detail={"set": None}),
    of("packed", WITH_ANA, {"set": "ST1"}, "already_out", detail={"set": "ST1"}),
    of("packed", MISSING, {"set": "ST1"}, "missing", detail={"set": "ST1"}),
    of("packed", GONE, {"set": "ST1"}, "written_off", detail={"set": "ST1"}),
    of("handed_out", IN_STORE, TO_BEN, **BEN),
    of("handed_out", PACKED, TO_BEN, **BEN),
    of("handed_out", IN_STORE, TO_BEN | {"place": "crew", "picker": None, "stints": ()}, crew="RED"),
    of(
        "handed_out",
        WITH_ANA,
        TO_BEN | {"place": "crew", "picker": None, **LET_GO},
        "already_out",
        crew="RED",
    ),
    of("handed_out", replace(IN_STORE, store="B"), TO_BEN, "other_store", **BEN),
    of("handed_out", WITH_ANA, ANA_TO_BEN, "already_out", **BEN),
    of("handed_out", IN_STORE, TO_BEN, "not_out", detail={"from": "crew:RED"}, **BEN),
    of("handed_out", WITH_ANA, ANA_TO_BEN, detail={"from": "picker:1"}, **BEN),
    of("handed_out", WITH_ANA, ANA_TO_BEN, "already_out", detail={"from": "picker:3"}, **BEN),
    of("handed_out", WITH_RED, TO_BEN, detail={"from": "crew:RED"}, **BEN),
    of("handed_out", MISSING, TO_BEN | {"stints": (*HAD["stints"], Stint(2, "RED", NOW))}, "missing", **BEN),
    of("handed_out", GONE, TO_BEN, "written_off", **BEN),
    of("handed_out", IN_STORE, TO_BEN, "picker_left", detail={"verdict": ["picker_left"]}, **BEN),
    of("handed_out", IN_STORE, TO_BEN, detail={"verdict": ["wrong_size"]}, **BEN),
    of(  # a counter whose clock was set back: she had it until then, and never less than not at all
        "handed_out",
        replace(WITH_ANA, stints=(Stint(1, "RED", NOW.replace(hour=9)),)),
        TO_BEN
        | {
            "stints": (
                Stint(1, "RED", NOW.replace(hour=9), NOW.replace(hour=9)),
                Stint(2, "RED", NOW.replace(hour=9)),
            )
        },
        "already_out",
        **BEN,
    ),
    of("returned", WITH_ANA, NOBODY | LET_GO | {"place": "store"}),
    of("returned", WITH_ANA, NOBODY | LET_GO | {"place": "store", "store": "B"}, store="B"),
    of("returned", WITH_ANA, NOBODY | LET_GO | {"place": "store", "wet_at": NOW}, detail={"wet": True}),
    of("returned", WITH_ANA, NOBODY | LET_GO | {"place": "store"}, detail={"wet": False}),
    of("returned", WET, NOBODY | LET_GO | {"place": "store"}),
    of("returned", WET, NOBODY | LET_GO | {"place": "store"}, detail={"wet": True}),
    of("returned", STOWED, NOBODY | {"place": "store"}),
    of("returned", MISSING, NOBODY | {"place": "store"}),
    of("returned", IN_STORE, NOBODY | {"place": "store"}, "not_out"),
    of("returned", ON_BENCH, NOBODY | {"place": "store"}, "not_out"),
    of("returned", GONE, SAME, "written_off"),
    of("stowed", WITH_ANA, LET_GO | {"place": "orchard", "block": "N4", "since": NOW}, block="N4"),
    of(
        "stowed",
        WITH_RED,
        {"place": "orchard", "block": "N4", "crew": "BLUE", "since": NOW},
        block="N4",
        crew="BLUE",
    ),
    of("stowed", MISSING, {"place": "orchard", "block": "N4", "since": NOW}, block="N4"),
    of("stowed", IN_STORE, {"place": "orchard", "block": "N4", "since": NOW}, "not_out", block="N4"),
    of("stowed", GONE, SAME, "written_off", block="N4"),
    of("missed", WITH_ANA, LET_GO | {"place": "missing", "since": NOW}),
    of("missed", PACKED, {"place": "missing", "since": NOW, "set": None}),
    of("missed", MISSING, SAME),
    of("missed", GONE, SAME, "written_off"),
    of("found", MISSING, NOBODY | {"place": "store", "store": "B"}, store="B"),
    of("found", MISSING, NOBODY | {"place": "crew", "crew": "RED"}, crew="RED"),
    of("found", WITH_ANA, SAME),
    of("found", GONE, SAME, "written_off"),
    of("seen", IN_STORE, SAME),
    of("seen", WITH_ANA, SAME),
    of("seen", MISSING, SAME),
    of("seen", GONE, SAME),
    of("moved", IN_STORE, NOBODY | {"place": "store", "store": "B"}, detail={"to": "B"}),
    of("moved", PACKED, NOBODY | {"place": "store", "store": "B"}, detail={"to": "B"}),
    of("moved", ON_BENCH, NOBODY | {"place": "store", "store": "B"}, detail={"to": "B"}),
    of(
        "moved",
        WITH_ANA,
        NOBODY | LET_GO | {"place": "store", "store": "B"},
        "already_out",
        detail={"to": "B"},
    ),
    of("moved", GONE, SAME, "written_off", detail={"to": "B"}),
    of("written_off", MISSING, {"place": "gone", "since": NOW}, detail={"circumstance": "lost"}),
    of("written_off", WITH_ANA, LET_GO | {"place": "gone", "since": NOW}, detail={"circumstance": "stolen"}),
    of(
        "written_off",
        PACKED,
        {"place": "gone", "since": NOW, "set": None},
        detail={"circumstance": "worn_out"},
    ),
    of("written_off", GONE, SAME, "written_off", detail={"circumstance": "lost"}),
    of("joined", CrewState(), {"members": {1: NOW}}, picker=1),
    of("joined", RED, SAME, picker=1),
    of("joined", RED, {"members": {1: BEFORE, 2: NOW}}, picker=2),
    of("joined", RED, SAME),
    of("parted", RED, {"members": {}}, picker=1),
    of("parted", RED, SAME, "not_in_crew", picker=2),
    of("waived", RED, {"waived": ((1, "gloves", NOW),)}, picker=1, detail={"kind": "gloves"}),
    of(
        "waived",
        replace(RED, waived=((1, "bag", NOW.replace(day=30, month=5)), (2, "bag", EARLIER))),
        {"waived": ((2, "bag", EARLIER), (1, "gloves", NOW))},
        picker=1,
        detail={"kind": "gloves"},
    ),
    of("waived", RED, SAME, detail={"kind": "gloves"}),
    of("heard", MISSING, SAME, picker=1),
    of("heard", GONE, SAME, picker=1),
    of("reversed", WITH_ANA, SAME, detail={"entry": str(OWN)}),
    of("reversed", RED, SAME, detail={"entry": str(OWN)}),
    of(
        "settled",
        WITH_ANA,
        {"settled": frozenset({"already_out:x"})},
        detail={"key": "already_out:x", "choice": "so"},
    ),
    of(
        "settled",
        RED,
        {"settled": frozenset({"not_in_crew:x"})},
        detail={"key": "not_in_crew:x", "choice": "so"},
    ),
]
