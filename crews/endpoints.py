"""Every address of Shedbook by its name, and who may look at it or change something there."""

from dataclasses import dataclass

from crews.roles import (
    ALL,
    AUDITORS,
    BATHS,
    COUNTER,
    KEEPERS,
    LOOKERS,
    MANAGER,
    MANAGERS,
    MENDER,
    NOBODY,
    OFFICE,
    OFFICER,
    PEOPLE,
    SETTLERS,
    STOREMAN,
    SUPERVISOR,
    TAKERS,
    TRAINERS,
)


@dataclass(frozen=True)
class Endpoint:
    """Roles that may look (GET, HEAD, OPTIONS) and roles that may change (every other method)."""

    look: frozenset[str]
    change: frozenset[str] = NOBODY


# Reachable without signing in.
PUBLIC = frozenset(
    "login login_pin login_code logout set_language favicon "
    # The orchard page as such, which knows nobody, and what keeps it on a phone.
    "orchard service_worker orchard_manifest orchard_icon orchard_icon_svg "
    "trust trust_certificate trust_code "
    # For whoever watches over the server; the figures only for those who may know.
    "healthz readyz metrics".split()
)

# By the name of the URL, with its namespace.
ENDPOINTS: dict[str, Endpoint] = {
    "api:entries": Endpoint(NOBODY, ALL),
    "api:items": Endpoint(ALL),
    "api:item": Endpoint(ALL),
    "api:pickers": Endpoint(ALL),
    "api:kit": Endpoint(ALL),
    "api:crews": Endpoint(ALL),
    "api:sheet": Endpoint(ALL),
    "api:blocks": Endpoint(ALL),
    "api:stores": Endpoint(ALL),
    "api:board": Endpoint(ALL),
    "api:overdue": Endpoint(ALL),
    "api:trace": Endpoint(ALL),
    "api:figures": Endpoint(OFFICE | {MENDER}),
    "api:plan": Endpoint(ALL),
    "api:photo": Endpoint(ALL, ALL),
    "api:schema": Endpoint(ALL),
    "api:docs": Endpoint(ALL),
    # The counter
    "counter": Endpoint(COUNTER),
    "counter_here": Endpoint(COUNTER, COUNTER),
    "counter_kit": Endpoint(COUNTER),
    "counter_owes": Endpoint(COUNTER),
    "counter_set": Endpoint(COUNTER),
    "counter_sheet": Endpoint(COUNTER),
    "counter_day_card": Endpoint(NOBODY, KEEPERS),
    "counter_new_picker": Endpoint(NOBODY, KEEPERS),
    "counter_crew": Endpoint(COUNTER | {SUPERVISOR, MANAGER}),
    "counter_figures": Endpoint(COUNTER | {SUPERVISOR, MANAGER}),
    "counter_names": Endpoint(COUNTER | {SUPERVISOR, MANAGER}),
    "calibrate": Endpoint(COUNTER),
    "calibrate_pdf": Endpoint(COUNTER),
    # Labels, cards and paper
    "registering": Endpoint(OFFICE, OFFICE),
    "labels": Endpoint(OFFICE | {MENDER}),
    "cards": Endpoint(OFFICE),
    "badges_pdf": Endpoint(OFFICE),
    "day_cards_pdf": Endpoint(OFFICE),
    "set_tags_pdf": Endpoint(OFFICE),
    "crew_tags_pdf": Endpoint(OFFICE),
    "counter_tags_pdf": Endpoint(OFFICE),
    "fault_tags_pdf": Endpoint(OFFICE),
    "new_cards": Endpoint(NOBODY, frozenset({STOREMAN, MANAGER})),
    "sets": Endpoint(frozenset({STOREMAN, MENDER, MANAGER})),
    "set": Endpoint(frozenset({STOREMAN, MENDER, MANAGER}), frozenset({STOREMAN, MENDER})),
    "unpack": Endpoint(NOBODY, frozenset({STOREMAN, MENDER})),
    "paper": Endpoint(OFFICE | {SUPERVISOR}),
    "crew_pages_pdf": Endpoint(OFFICE | {SUPERVISOR}),
    "enter_paper": Endpoint(frozenset({STOREMAN, SUPERVISOR}), frozenset({STOREMAN, SUPERVISOR})),
    # The board, the gear and what is still out; what may be done with an item, its verb's action says.
    "board": Endpoint(ALL),
    "board_lines": Endpoint(ALL),
    "board_due": Endpoint(ALL),
    "gear": Endpoint(ALL),
    "find": Endpoint(NOBODY, ALL),
    "item": Endpoint(ALL),
    "item_act": Endpoint(ALL, ALL),
    "still_out": Endpoint(ALL),
    "season_end": Endpoint(ALL),
    "season_end_pdf": Endpoint(ALL),
    "clearance": Endpoint(OFFICE | {SUPERVISOR}),
    "tag": Endpoint(ALL),
    # The bench; what may be done there, the verbs' actions say. A slip is printed by whoever sees the piece.
    "bench": Endpoint(OFFICE | {MENDER}, OFFICE | {MENDER}),
    "bench_act": Endpoint(OFFICE | {MENDER}, OFFICE | {MENDER}),
    "do_not_use_pdf": Endpoint(ALL),
    # Sampling audits: the officer or the manager asks and closes, whoever keeps the gear looks.
    "audits": Endpoint(OFFICE | {MENDER}),
    "audit_new": Endpoint(AUDITORS, AUDITORS),
    "audit": Endpoint(OFFICE | {MENDER}, LOOKERS),
    "audit_answer": Endpoint(NOBODY, LOOKERS),
    "audit_take_back": Endpoint(NOBODY, LOOKERS),
    "audit_close": Endpoint(NOBODY, AUDITORS),
    "audit_lot": Endpoint(OFFICE | {MENDER}),
    "audit_report": Endpoint(OFFICE | {MENDER}),
    # Counted goods: what lies in a store, everybody sees.
    "goods": Endpoint(ALL),
    "goods_receive": Endpoint(OFFICE, OFFICE),
    "goods_take": Endpoint(BATHS, BATHS),
    "goods_count": Endpoint(OFFICE, OFFICE),
    "goods_kinds": Endpoint(ALL),
    "goods_kind_new": Endpoint(OFFICE, OFFICE),
    "goods_kind": Endpoint(OFFICE, OFFICE),
    "goods_lot": Endpoint(ALL),
    "goods_discard": Endpoint(NOBODY, OFFICE),
    "goods_strike": Endpoint(NOBODY, ALL),
    # The rules: everybody reads them, those who answer for the safety of it all set them.
    "rules": Endpoint(ALL),
    "rule": Endpoint(ALL, frozenset({OFFICER, MANAGER})),
    # The wash place: the manager looks.
    "wash": Endpoint(ALL),
    "wash_lines": Endpoint(ALL),
    "wash_mix": Endpoint(BATHS, BATHS),
    "wash_dip": Endpoint(BATHS),
    "wash_check": Endpoint(BATHS),
    "wash_crew": Endpoint(BATHS, BATHS),
    "bath": Endpoint(ALL),
    "bath_label": Endpoint(ALL),
    "bath_test": Endpoint(ALL, BATHS),
    "bath_empty": Endpoint(ALL, BATHS),
    # Registers and their charts: which of them, `REGISTERS` says. Whether paper agrees with the book, the office asks.
    "registers": Endpoint(ALL),
    "register": Endpoint(ALL, ALL),
    "printing": Endpoint(ALL),
    "charts": Endpoint(OFFICE | {MENDER}),
    "charts_pdf": Endpoint(OFFICE | {MENDER}),
    "chart": Endpoint(OFFICE | {MENDER}),
    "chart_table": Endpoint(OFFICE | {MENDER}),
    "verify": Endpoint(OFFICE),
    "verify_one": Endpoint(OFFICE),
    # Figures; those of costs are for who may print the losses.
    "figures": Endpoint(OFFICE | {MENDER}),
    "figure": Endpoint(OFFICE | {MENDER}),
    "figure_pdf": Endpoint(OFFICE | {MENDER}),
    "figure_picture": Endpoint(OFFICE | {MENDER}),
    "figure_table": Endpoint(OFFICE | {MENDER}),
    # A disease, traced: everybody looks, those who flag keep the case
    "trace": Endpoint(ALL, frozenset({OFFICER, MANAGER})),
    "trace_case": Endpoint(ALL),
    "trace_flag": Endpoint(NOBODY, frozenset({OFFICER, MANAGER})),
    "trace_unflag": Endpoint(NOBODY, frozenset({OFFICER, MANAGER})),
    "trace_recall": Endpoint(ALL),
    # The evening plan: everybody looks; of a crew, with its pickers, those who see the crew.
    "evening_plan": Endpoint(ALL),
    "evening_plan_crew": Endpoint(OFFICE | {SUPERVISOR}),
    "morning_sheets_pdf": Endpoint(OFFICE | {SUPERVISOR}),
    # What the book says twice, and what it could not take
    "settle": Endpoint(SETTLERS),
    "settle_one": Endpoint(NOBODY, SETTLERS),
    "settle_again": Endpoint(NOBODY, SETTLERS),
    "settle_try": Endpoint(NOBODY, SETTLERS),
    "settle_renumber": Endpoint(NOBODY, SETTLERS),
    "settle_leave_out": Endpoint(NOBODY, SETTLERS),
    "settle_take": Endpoint(NOBODY, frozenset({OFFICER})),
    "settle_phone": Endpoint(NOBODY, frozenset({OFFICER})),
    # Stocktakes; what may be done about a surprise, the action of its verb says beside that.
    "stocktakes": Endpoint(TAKERS, TAKERS),
    "stocktake": Endpoint(TAKERS),
    "stocktake_lines": Endpoint(TAKERS),
    "stocktake_scan": Endpoint(NOBODY, TAKERS),
    "stocktake_scans": Endpoint(NOBODY, TAKERS),
    "stocktake_unscan": Endpoint(NOBODY, TAKERS),
    "stocktake_settle": Endpoint(TAKERS),
    "stocktake_piece": Endpoint(NOBODY, TAKERS),
    "stocktake_missing": Endpoint(NOBODY, TAKERS),
    "stocktake_again": Endpoint(NOBODY, TAKERS),
    "stocktake_label": Endpoint(NOBODY, TAKERS),
    "stocktake_label_again": Endpoint(NOBODY, TAKERS),
    "stocktake_end": Endpoint(NOBODY, TAKERS),
    "stocktake_pdf": Endpoint(TAKERS),
    # One's own page
    "me": Endpoint(ALL, ALL),
    "me_password": Endpoint(ALL, ALL),
    # Who may have a PIN, `crews.pins` says.
    "me_pin": Endpoint(ALL, ALL),
    "me_code": Endpoint(AUDITORS, AUDITORS),
    "me_code_picture": Endpoint(AUDITORS),
    # Who signs in
    "users": Endpoint(MANAGERS),
    "user_end": Endpoint(NOBODY, MANAGERS),
    "user_disable": Endpoint(NOBODY, MANAGERS),
    "user_forget_code": Endpoint(NOBODY, MANAGERS),
    "user_enable": Endpoint(NOBODY, MANAGERS),
    # Phones: whoever signs in may enrol the one in their hand, with a code that the office gives them.
    "orchard_here": Endpoint(ALL),
    "enrol_type": Endpoint(ALL),
    "enrol": Endpoint(ALL, ALL),
    "devices": Endpoint(OFFICE),
    "device_code_new": Endpoint(NOBODY, OFFICE),
    "device_code": Endpoint(OFFICE),
    "device": Endpoint(OFFICE, OFFICE),
    "device_revoke": Endpoint(NOBODY, OFFICE),
    # Crews, pickers, blocks, plans, stores, and lists to import
    "crews": Endpoint(OFFICE | {SUPERVISOR}, MANAGERS),
    "crew": Endpoint(OFFICE | {SUPERVISOR}, MANAGERS),
    "crew_today": Endpoint(OFFICE | {SUPERVISOR}),
    "crew_told": Endpoint(OFFICE | {SUPERVISOR}, frozenset({STOREMAN, SUPERVISOR})),
    "crew_training": Endpoint(OFFICE | {SUPERVISOR}, TRAINERS),
    "crew_lesson_undo": Endpoint(NOBODY, TRAINERS),
    "crew_new_picker": Endpoint(NOBODY, PEOPLE),
    "pickers": Endpoint(OFFICE | {SUPERVISOR}),
    "picker": Endpoint(OFFICE | {SUPERVISOR}, PEOPLE),
    "picker_card": Endpoint(NOBODY, PEOPLE),
    "picker_move": Endpoint(NOBODY, PEOPLE),
    "blocks": Endpoint(ALL, MANAGERS),
    "block": Endpoint(ALL, MANAGERS),
    "block_delete": Endpoint(NOBODY, MANAGERS),
    "plans": Endpoint(ALL),
    "plan": Endpoint(ALL, MANAGERS | {SUPERVISOR}),
    "plan_new": Endpoint(MANAGERS, MANAGERS),
    "plans_copy": Endpoint(NOBODY, MANAGERS),
    "stores": Endpoint(OFFICE, MANAGERS),
    "store": Endpoint(MANAGERS, MANAGERS),
    "import": Endpoint(PEOPLE, PEOPLE),
    "import_confirm": Endpoint(PEOPLE, PEOPLE),
    "import_header": Endpoint(PEOPLE),
}
