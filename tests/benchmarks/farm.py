"""One small farm for all benchmarks of a run: they share a database."""

from functools import cache

from tests.cast import Farm, found_farm


@cache
def small_farm() -> Farm:
    """Without rules, so nothing is due; a benchmark that wants them loads them."""
    return found_farm()
