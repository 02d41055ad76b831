"""The table that a run of benchmarks ends with."""

import json
import os
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

# Where a process that runs one benchmark of many leaves its figures.
KEPT = "SHEDBOOK_BENCH_KEPT"


@dataclass(frozen=True)
class Line:
    """One measured figure. `baseline` and `ratio` are None where an absolute limit was asked for."""

    figure: str
    value: float
    unit: str
    baseline: float | None
    ratio: float | None
    wanted: str
    ok: bool

    def cells(self) -> tuple[str, ...]:
        return (
            self.figure,
            f"{rounded(self.value)} {self.unit}".strip(),
            "" if self.baseline is None else f"{rounded(self.baseline)} {self.unit}".strip(),
            "" if self.ratio is None else f"{self.ratio:.2f}",
            self.wanted,
            "ok" if self.ok else "NOT OK",
        )


@dataclass
class Report:
    """Collects figures and judges each against what was wanted of it."""

    lines: list[Line] = field(default_factory=list)

    def ratio(
        self,
        figure: str,
        value: float,
        baseline: float,
        *,
        unit: str = "",
        at_least: float | None = None,
        at_most: float | None = None,
    ) -> None:
        """A figure against its baseline from the same run; the limits are on `value / baseline`."""
        share = value / baseline
        judgement = judged(share, at_least, at_most, "x baseline")
        self.lines.append(Line(figure, value, unit, baseline, share, *judgement))

    def limit(
        self,
        figure: str,
        value: float,
        *,
        unit: str = "",
        at_least: float | None = None,
        at_most: float | None = None,
    ) -> None:
        """A figure with a limit of its own: only where a person waits, or where a count is exact."""
        self.lines.append(Line(figure, value, unit, None, None, *judged(value, at_least, at_most, unit)))

    def keep_for_whoever_asked(self) -> None:
        """In the file that the environment names, if it names one."""
        if KEPT in os.environ:
            Path(os.environ[KEPT]).write_text(json.dumps([asdict(line) for line in self.lines]))

    def add(self, kept: Path, prefix: str) -> None:
        """The figures that another process kept, each under `prefix`."""
        for row in json.loads(kept.read_text()):
            line = Line(**row)
            self.lines.append(replace(line, figure=f"{prefix} {line.figure}"))

    def failed(self, figure: str) -> None:
        """A benchmark that broke off has no figures, and is not as wanted."""
        self.lines.append(Line(figure, float("nan"), "", None, None, "figures", False))

    @property
    def ok(self) -> bool:
        """Whether anything was measured and all of it is as wanted."""
        return bool(self.lines) and all(line.ok for line in self.lines)

    def table(self) -> str:
        head = ("figure", "value", "baseline", "ratio", "wanted", "")
        rows = [head, *(line.cells() for line in self.lines)]
        widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
        return "\n".join(
            "  ".join(
                cell.rjust(width) if column in {1, 2, 3} else cell.ljust(width)
                for column, (cell, width) in enumerate(zip(row, widths, strict=True))
            ).rstrip()
            for row in rows
        )


def judged(number: float, at_least: float | None, at_most: float | None, unit: str) -> tuple[str, bool]:
    """What was wanted, in words, and whether `number` is that; ValueError where nothing was wanted."""
    if at_least is None and at_most is None:
        raise ValueError("Say at_least or at_most: a figure without a limit cannot be judged.")
    limits = (("at least", at_least), ("at most", at_most))
    words = " and ".join(f"{word} {limit:g}" for word, limit in limits if limit is not None)
    # Asked this way round, a NaN is never as wanted.
    ok = (at_least is None or number >= at_least) and (at_most is None or number <= at_most)
    return f"{words} {unit}".strip(), ok


def rounded(number: float) -> str:
    """Three significant digits, whole from a hundred on."""
    return f"{number:,.0f}" if abs(number) >= 100 else f"{number:.3g}"
