"""What goes other than planned, and on which days of the season.

Each happening has its places in the season as fractions of it, so that a short season has its share of each and the
same seed always meets the same days. What depends on something that is not there (nobody has lost anything yet) is
left out that day.
"""

from collections import Counter
from collections.abc import Mapping

HAPPENINGS: Mapping[str, tuple[float, ...]] = {
    "wrong_scan": (0.05, 0.2, 0.37, 0.55, 0.7, 0.85, 0.99),
    "change_of_hands": (0.1, 0.3, 0.45, 0.6, 0.78, 0.92),
    "waived": (0.25, 0.5, 0.9),
    "no_badge": (0.12, 0.33, 0.52, 0.74, 0.99),
    "badge_lost": (0.48,),
    "refused": (0.28, 0.65, 0.99),
    # More towards the end: on the last evening a handful is still out, some of it since days ago.
    "left_behind": (0.15, 0.3, 0.45, 0.6, 0.7, 0.78, 0.82, 0.86, 0.9, 0.93, 0.95, 0.97, 0.99, 0.99, 0.99),
    "missed": (0.35, 0.55, 0.75, 0.87, 0.95),
    "found": (0.45, 0.68),
    "lost_for_good": (0.82,),
    "worn_out": (0.3, 0.58, 0.86),
    "label_gone": (0.4, 0.72),
    "moved": (0.5,),
    "transfer": (0.38, 0.77),
    "leaver": (0.34, 0.56, 0.9),
    "comes_back": (0.66,),
    "given_twice": (0.42, 0.96),
    "taken_back_twice": (0.8,),
    "settled": (0.62,),
    "stowed": (0.6, 0.99),
    "stopped": (0.44,),
    "rain": (0.99,),
    "bath_fails": (0.55, 0.99),
    "late_dip": (0.22, 0.22, 0.47, 0.63, 0.71, 0.88, 0.88, 0.99),
    "no_dip": (0.51, 0.8),
    "no_check": (0.36, 0.73),
    "check_fails": (0.17, 0.59, 0.94),
    "left_open": (0.31, 0.69),
    "no_line": (0.15, 0.35, 0.6, 0.8, 0.99),
    "taken_over": (0.49,),
    "replanned": (0.58,),
    "ladder_cracked": (0.21, 0.57),
    "flagged": (0.52,),
    "left_wet": (0.99,),
    "torn": (0.33, 0.66, 0.99, 0.99),
    "overridden": (0.46, 0.83),
    "lesson": (0.0, 0.2, 0.4, 0.65, 0.9),
    "heard": (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.99),
    "cancelled": (0.26,),
    "changed": (0.18, 0.53, 0.87),
}

ABSENT = 0.035
UNUSUAL = 0.06
FORGOTTEN = 0.0006
BROUGHT_LATER = 0.2


def on(day: int, days: int) -> Counter[str]:
    """How often each thing happens on working day `day` (from 0) of `days`."""
    return Counter(
        what
        for what, places in HAPPENINGS.items()
        for place in places
        if min(int(place * days), days - 1) == day
    )
