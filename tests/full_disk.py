"""A disk that is full up to so many bytes, and has room again.

A tmpfs of its own where we may mount one. Where we may not, the server's process is forbidden to let any file grow
beyond what the log has and so many bytes: the kernel then answers EFBIG where a full disk answers ENOSPC.
"""

import os
import resource
import subprocess
from pathlib import Path

MEGABYTES = 16


class Tmpfs:
    name = "a tmpfs that is full"

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def leave(self, server: int, room: int) -> None:
        """No more than `room` bytes are free."""
        self.make_room(server)
        filling = self.folder / "filling"
        with filling.open("wb") as file:
            free = os.statvfs(self.folder)
            file.write(bytes(max(0, free.f_bavail * free.f_frsize - room)))

    def make_room(self, server: int) -> None:
        (self.folder / "filling").unlink(missing_ok=True)

    def close(self) -> None:
        subprocess.run(["umount", "-l", str(self.folder)], check=True)


class Limit:
    name = "files that may not grow (RLIMIT_FSIZE)"

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def leave(self, server: int, room: int) -> None:
        # The log's index, 32 kB, is there before: a disk that gives not even that serves nobody.
        log = max((each.stat().st_size for each in self.folder.glob("*-wal")), default=0)
        log = max(log, 64_000)
        resource.prlimit(server, resource.RLIMIT_FSIZE, (log + room, resource.RLIM_INFINITY))

    def make_room(self, server: int) -> None:
        resource.prlimit(server, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))

    def close(self) -> None:
        pass


def made(folder: Path) -> Tmpfs | Limit:
    size = f"size={MEGABYTES}m"
    try:
        tried = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", size, "tmpfs", str(folder)], capture_output=True
        )
    except FileNotFoundError:
        return Limit(folder)
    return Tmpfs(folder) if tried.returncode == 0 else Limit(folder)
