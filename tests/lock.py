"""What a farm installs, to the digest: `python -m tests.lock` writes `config/requirements/` from `pyproject.toml`.

    pip install -e '.[lock]'            pip-tools, which works it out
    python -m tests.lock                what is locked stays as it is; what is new or no longer fits is worked out
    python -m tests.lock --upgrade      the newest of everything
    python -m tests.lock --upgrade-package NAME

`run.txt` is what the farm runs with, `test.txt` the same and what the tests need. They hold for Python 3.11 on Linux;
the digests are those of every file of a release, so that the kind of processor does not matter. What builds the
project itself is in them too, so that nothing is installed unlocked. The index is asked; its name is not written.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = Path("config/requirements")
COMPILE = (sys.executable, "-m", "piptools", "compile", "--quiet", "--generate-hashes", "--all-build-deps")
# The name of an index, or of a folder of this machine, belongs to whoever installs.
UNNAMED = ("--no-emit-index-url", "--no-emit-find-links", "--no-emit-trusted-host")
FORM = ("--strip-extras", "--allow-unsafe", "--annotation-style=line")
# The tests run with what the farm runs with.
LOCKS = {"run.txt": (), "test.txt": ("--extra=test", f"--constraint={FOLDER / 'run.txt'}")}


def main(asked: list[str]) -> int:
    """Write both files; the first status that is not 0, else 0."""
    environment = os.environ | {"CUSTOM_COMPILE_COMMAND": "python -m tests.lock"}
    for name, more in LOCKS.items():
        command = [
            *COMPILE,
            *UNNAMED,
            *FORM,
            *more,
            *asked,
            f"--output-file={FOLDER / name}",
            "pyproject.toml",
        ]
        if status := subprocess.run(command, cwd=ROOT, env=environment).returncode:
            return status
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
