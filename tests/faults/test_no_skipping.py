"""Nothing in this suite can be skipped unseen, whichever way it is tried."""

import pytest

from tests.no_skipping import REFUSED

pytest_plugins = ["pytester"]


@pytest.mark.parametrize(
    ("source", "outcome"),
    [
        ("import pytest\ndef test_a(): pytest.skip('no')", {"failed": 1}),
        ("import pytest\n@pytest.mark.skip\ndef test_a(): pass", {"errors": 1}),
        ("import pytest\n@pytest.mark.skipif(True, reason='no')\ndef test_a(): pass", {"errors": 1}),
        ("import pytest\npytest.importorskip('no_such_module')\ndef test_a(): pass", {"errors": 1}),
    ],
)
def test_a_skip_is_a_failure(pytester, source, outcome):
    pytester.makepyfile(source)
    result = pytester.runpytest_inprocess("-p", "tests.no_skipping", "-p", "no:randomly", "-p", "no:django")
    result.assert_outcomes(**outcome)
    result.stdout.fnmatch_lines(f"*{REFUSED}*")
