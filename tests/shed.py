"""Servers that are made to be killed, see `tests.killable`; the test must commit what they are to see."""

import os
import signal
import socket
import subprocess
import sys

from tests import processes


class Shed:
    """The servers: one at a time, each until it is killed."""

    def __init__(self) -> None:
        self.listening = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port = self.listening.getsockname()[1]
        self.maker = subprocess.Popen(
            [sys.executable, "-m", "tests.killable", str(self.listening.fileno())],
            cwd=processes.ROOT,
            env=processes.environment(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            pass_fds=[self.listening.fileno()],
            text=True,
        )
        self.server = 0

    def open(self) -> None:
        assert self.maker.stdin and self.maker.stdout
        self.maker.stdin.write("\n")
        self.maker.stdin.flush()
        self.server = int(self.maker.stdout.readline())

    def kill(self) -> None:
        os.kill(self.server, signal.SIGKILL)
        self.server = 0

    def close(self) -> None:
        if self.server:
            self.kill()
        self.maker.kill()
        self.maker.communicate()
        self.listening.close()
