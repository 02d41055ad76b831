"""Reads what `strace -f -yy` wrote of a server's process: which call came before which, and on what file.

Calls are taken in the order in which they *ended*, for those that matter as promises (a flush, a write to the log), and
in which they *began* for what is given away (bytes to a socket): so that "before" is never claimed of two that overlap.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

CALLS = "fsync,fdatasync,write,pwrite64,writev,sendto,sendmsg"
_LINE = re.compile(r"(?P<thread>\d+)\s+(?P<rest>.*)")
_BEGUN = re.compile(r"(?P<call>\w+)\(\d+<(?P<file>.*?)>(?=[,)\s])(?P<data>.*)")
_RESUMED = re.compile(r"<\.\.\. (?P<call>\w+) resumed>")
_UNFINISHED = "<unfinished ...>"
ANSWERED = '"HTTP/1.1 200'


@dataclass(frozen=True, slots=True)
class Seen:
    """`what` is `written` or `flushed` (of the log) or `answered`, by the thread of that number."""

    what: str
    thread: int


def seen(lines: Iterable[str]) -> Iterator[Seen]:
    """What a trace tells of the log (a file that ends with `-wal`) and of answers of 200."""
    begun: dict[int, str] = {}
    for line in lines:
        if not (found := _LINE.match(line)):
            continue
        thread, rest = int(found["thread"]), found["rest"]
        if call := _BEGUN.match(rest):
            what = _what(call)
            if what == "answered":
                yield Seen(what, thread)
            elif what and rest.endswith(_UNFINISHED):
                begun[thread] = what
            elif what and _went_well(rest):
                yield Seen(what, thread)
        elif _RESUMED.match(rest) and (what := begun.pop(thread, "")) and _went_well(rest):
            yield Seen(what, thread)


def _what(call: "re.Match[str]") -> str:
    if call["file"].endswith("-wal"):
        return "flushed" if call["call"] in ("fsync", "fdatasync") else "written"
    return "answered" if ANSWERED in call["data"] else ""


def _went_well(rest: str) -> bool:
    found = re.search(r"= (-?\d+)[^=]*$", rest)
    return found is not None and int(found[1]) >= 0


def unflushed(calls: Iterable[Seen]) -> tuple[int, list[int]]:
    """How many answers there were, and the numbers of those before which their thread had not written to the log since
    its last answer, or had not flushed it after that."""
    answers, bad = 0, []
    state: dict[int, str] = {}
    for call in calls:
        if call.what != "answered":
            state[call.thread] = call.what
            continue
        answers += 1
        if state.pop(call.thread, "") != "flushed":
            bad.append(answers)
    return answers, bad
