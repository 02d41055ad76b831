"""The browsers that the browser tests drive: found, or on Debian and its kin installed.

Chromium itself, and the shell of it that draws no window of its own: it is a third quicker, and has all but a camera.
"""

import os
import shutil
import subprocess
from collections.abc import Sequence
from contextlib import suppress

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # No page may lean on the outside world, and no test may depend on it.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
)
PACKAGE = "chromium"
LIGHT = "chromium-headless-shell"
# Makes the browser trust a farm's own authority, as a person does on a phone.
CERTUTIL = "certutil"
CERTUTIL_PACKAGE = "libnss3-tools"
# Shows what a server asks of the kernel.
STRACE = "strace"


class NoChromium(RuntimeError):
    """There is no browser and none could be installed; the message says what to do."""


def find() -> str | None:
    """Path of a Chromium that starts, or None. SHEDBOOK_CHROMIUM goes before PATH."""
    if named := os.environ.get("SHEDBOOK_CHROMIUM"):
        if starts(named):
            return named
        raise NoChromium(f"SHEDBOOK_CHROMIUM names {named}, which does not start.")
    return next((path for name in NAMES if (path := shutil.which(name)) and starts(path)), None)


def find_light() -> str | None:
    """Path of the shell where it is there, else of Chromium; None where there is neither. SHEDBOOK_CHROMIUM goes before
    both."""
    shell = None if os.environ.get("SHEDBOOK_CHROMIUM") else shutil.which(LIGHT)
    return shell if shell and starts(shell) else find()


def starts(path: str) -> bool:
    """Whether the program says its version: some systems put a stub there that only advertises another package."""
    try:
        said = subprocess.run([path, "--version"], capture_output=True, text=True, timeout=60)
    except (OSError, subprocess.TimeoutExpired):
        return False
    return said.returncode == 0


def ensure() -> str:
    """Path of a Chromium that starts, installed from the system's packages where there is none."""
    if found := find():
        return found
    install(
        PACKAGE,
        "The browser tests need Chromium, and this account cannot install it here. Install a package that "
        f"brings one of {', '.join(NAMES)}, or set SHEDBOOK_CHROMIUM to its path, and start again.",
    )
    if found := find():
        return found
    raise NoChromium(f"{PACKAGE} was installed, but none of {', '.join(NAMES)} starts.")


def ensure_light() -> None:
    """Install the shell where that is to be had; where it is not, Chromium does its work."""
    if not shutil.which(LIGHT):
        with suppress(NoChromium):
            install(LIGHT, f"There is no {LIGHT} here.")


def ensure_certutil() -> str:
    """Path of NSS's certutil, installed from the system's packages where there is none."""
    if not shutil.which(CERTUTIL):
        install(
            CERTUTIL_PACKAGE,
            f"The HTTPS tests need {CERTUTIL}, and this account cannot install it here. Install a package that "
            f"brings it ({CERTUTIL_PACKAGE} or nss-tools), and start again.",
        )
    if found := shutil.which(CERTUTIL):
        return found
    raise NoChromium(f"{CERTUTIL_PACKAGE} was installed, but there is no {CERTUTIL}.")


def ensure_strace() -> str:
    """Path of strace, installed from the system's packages where there is none."""
    if not shutil.which(STRACE):
        install(
            STRACE,
            f"One test needs {STRACE}, and this account cannot install it here. Install the package {STRACE}, and "
            "start again.",
        )
    if found := shutil.which(STRACE):
        return found
    raise NoChromium(f"{STRACE} was installed, but it is not there.")


def install(package: str, otherwise: str) -> None:
    """Through apt; NoChromium with the words of `otherwise` where that is not for us to do."""
    before = administrator()
    if before is None or not shutil.which("apt-get"):
        raise NoChromium(otherwise)
    print(f"Installing {package} from the system's packages ...", flush=True)
    apt(*before, "apt-get", "update")
    apt(*before, "apt-get", "install", "-y", "--no-install-recommends", package)


def administrator() -> Sequence[str] | None:
    """What to put before a command that needs root: nothing, `sudo -n env ...`, or None where we may not."""
    environment = ["env", "DEBIAN_FRONTEND=noninteractive"]
    if os.geteuid() == 0:
        return environment
    sudo = shutil.which("sudo")
    if sudo and subprocess.run([sudo, "-n", "true"], capture_output=True).returncode == 0:
        return [sudo, "-n", *environment]
    return None


def apt(*command: str) -> None:
    """Run apt-get quietly; NoChromium with all it said on failure."""
    done = subprocess.run(
        [*command, "-o", "DPkg::Lock::Timeout=300"],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    if done.returncode:
        raise NoChromium(f"Installing failed: {' '.join(command)}\n{done.stdout}")
