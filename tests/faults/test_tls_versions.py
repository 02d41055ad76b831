"""Over which TLS `serve --https` speaks: by gunicorn's own way to a context, shaken hands with through OpenSSL.

TLS 1.0 and 1.1 are deprecated by RFC 8996.
"""

import socket
import ssl
import threading
from pathlib import Path

import pytest
from gunicorn.config import Config
from gunicorn.sock import ssl_context

from equipment.actions.trust import server
from tests.faults.test_trust import NOW, SHED, farms, trusted

pytestmark = pytest.mark.filterwarnings("ignore:ssl.TLSVersion.TLSv1_1 is deprecated:DeprecationWarning")
HOST = "shed-pc.local"


def ours(folder: Path) -> ssl.SSLContext:
    file = str(server.renew(folder, farms(folder), SHED, NOW))
    settings = Config()
    settings.set("certfile", file)
    settings.set("keyfile", file)
    return ssl_context(settings)


def spoken(serving: ssl.SSLContext, client: ssl.SSLContext) -> str | None:
    """The version of TLS on which the two agree. Raises SSLError where there is none."""
    near, far = socket.socketpair()

    def serve() -> None:
        try:
            serving.wrap_socket(near, server_side=True).close()
        except (ssl.SSLError, OSError):
            near.close()

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        with client.wrap_socket(far, server_hostname=HOST) as line:
            return line.version()
    finally:
        far.close()
        thread.join()


def of_old(context: ssl.SSLContext) -> ssl.SSLContext:
    """Willing to speak TLS 1.1, and a client no newer."""
    context.set_ciphers("ALL:@SECLEVEL=0")
    context.minimum_version = ssl.TLSVersion.TLSv1_1
    return context


def old_client(folder: Path) -> ssl.SSLContext:
    client = of_old(trusted(folder))
    client.maximum_version = ssl.TLSVersion.TLSv1_1
    return client


def test_the_newest_is_spoken_where_both_can(tmp_path: Path) -> None:
    assert spoken(ours(tmp_path), trusted(tmp_path)) == "TLSv1.3"


def test_the_one_before_is_spoken_with_who_knows_no_newer(tmp_path: Path) -> None:
    client = trusted(tmp_path)
    client.maximum_version = ssl.TLSVersion.TLSv1_2
    assert spoken(ours(tmp_path), client) == "TLSv1.2"


def test_older_ones_are_not_spoken(tmp_path: Path) -> None:
    with pytest.raises((ssl.SSLError, ConnectionError)):
        spoken(ours(tmp_path), old_client(tmp_path))


def test_a_server_of_old_would_speak_them(tmp_path: Path) -> None:
    """So that the refusal above is the server's."""
    assert spoken(of_old(ours(tmp_path)), old_client(tmp_path)) == "TLSv1.1"
