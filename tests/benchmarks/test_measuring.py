"""The measuring tools judge rightly: a benchmark that cannot fail measures nothing."""

import math
import time

import numpy
import pytest

from tests.benchmarks.report import KEPT, Report
from tests.benchmarks.timing import Times, alternate, percentile

UNEVEN = [0.4, 9.0, 0.1, 0.3, 0.2, 0.5, 7.5]


@pytest.mark.parametrize("percent", [1, 14, 15, 50, 90, 95, 99, 100])
def test_percentiles_are_numpys_inverted_distribution_function(percent):
    # Reference library: numpy.percentile, method "inverted_cdf" (Hyndman & Fan 1996, definition 1).
    assert percentile(UNEVEN, percent) == numpy.percentile(UNEVEN, percent, method="inverted_cdf")


@pytest.mark.parametrize(("values", "percent"), [([], 50), (UNEVEN, 0), (UNEVEN, 100.1)])
def test_a_percentile_of_nothing_is_refused(values, percent):
    with pytest.raises(ValueError, match="A percentile needs"):
        percentile(values, percent)


def test_nothing_timed_is_refused():
    with pytest.raises(ValueError, match="Nothing was timed"):
        Times(())


def test_two_things_are_timed_in_turns_and_in_both_orders():
    called = []
    alternate(lambda: called.append("a"), lambda: called.append("b"), rounds=3, warm_up=1)
    assert "".join(called) == "ab" + "ab" + "ba" + "ab"


def test_the_slower_one_takes_longer():
    slow, fast = alternate(lambda: time.sleep(0.05), lambda: None, rounds=3)
    assert slow.median >= 0.05 > fast.median
    assert len(slow.seconds) == len(fast.seconds) == 3


@pytest.mark.parametrize(
    ("value", "limits", "ok"),
    [
        (50, {"at_least": 0.5}, True),
        (49.9, {"at_least": 0.5}, False),
        (120, {"at_most": 1.2}, True),
        (120.1, {"at_most": 1.2}, False),
        (100, {"at_least": 0.9, "at_most": 1.1}, True),
        (math.nan, {"at_least": 0.5}, False),
        (math.nan, {"at_most": 0.5}, False),
    ],
)
def test_a_ratio_is_judged_against_its_baseline(value, limits, ok):
    report = Report()
    report.ratio("figure", value, 100, **limits)
    assert report.ok is ok
    assert ("NOT OK" in report.table()) is not ok


def test_one_bad_figure_spoils_the_report_and_an_empty_report_is_not_good():
    report = Report()
    assert not report.ok
    report.limit("queries", 10, at_most=10)
    assert report.ok
    report.limit("99th percentile", 61, unit="ms", at_most=60)
    assert not report.ok


def test_a_figure_without_a_limit_is_refused():
    with pytest.raises(ValueError, match="Say at_least or at_most"):
        Report().limit("figure", 1)


def test_figures_of_another_process_come_whole(tmp_path, monkeypatch):
    kept = tmp_path / "figures.json"
    monkeypatch.setenv(KEPT, str(kept))
    theirs, ours = Report(), Report()
    theirs.ratio("quick", 2, 1, unit="/s", at_least=1)
    theirs.limit("wait", 200, unit="ms", at_most=150)
    theirs.keep_for_whoever_asked()
    ours.add(kept, "[sqlite]")
    assert [(line.figure, line.ratio, line.ok) for line in ours.lines] == [
        ("[sqlite] quick", 2, True),
        ("[sqlite] wait", None, False),
    ]
    assert not ours.ok


def test_a_benchmark_that_broke_off_is_not_as_wanted():
    report = Report()
    report.ratio("quick", 2, 1, at_least=1)
    report.failed("[sqlite] slow: broke off")
    assert not report.ok
    assert "broke off" in report.table()
