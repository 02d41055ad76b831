"""While it is served, the certificate follows the network and the calendar, and the server answers to the new names."""

from datetime import timedelta

import pytest
from cryptography import x509
from django.core.management.base import CommandError
from django.utils import timezone

from equipment.actions.trust import authority
from equipment.actions.trust.names import sorted_out
from equipment.management import https, plain

AT_HOME = ["shed-pc", "shed-pc.local", "192.168.7.20", "127.0.0.1"]


@pytest.fixture
def machine(settings, tmp_path, monkeypatch):
    """`machine(*hosts)`: the machine is reached by these from now on."""
    settings.TRUST_DIR, settings.OWN_HOSTS = tmp_path, ["localhost"]
    settings.ALLOWED_HOSTS = ["localhost"]

    def reached_by(*hosts: str) -> None:
        monkeypatch.setattr(https, "of_this_machine", lambda own: sorted_out([*hosts, *own]))

    reached_by(*AT_HOME)
    return reached_by


def served(settings) -> x509.Certificate:
    return x509.load_pem_x509_certificate((settings.TRUST_DIR / "server.pem").read_bytes())


def names(certificate: x509.Certificate) -> set[str]:
    held = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(name.value) for name in held}


def test_the_router_gives_the_machine_another_address(machine, settings):
    secure = https.prepare(timezone.now())
    assert secure.is_new and names(served(settings)) == {*AT_HOME, "localhost"}
    machine("shed-pc", "shed-pc.local", "192.168.7.99", "127.0.0.1")
    https.renewed()
    assert names(served(settings)) == {"shed-pc", "shed-pc.local", "192.168.7.99", "127.0.0.1", "localhost"}
    # The old address is somebody else's by now.
    assert "192.168.7.99" in settings.ALLOWED_HOSTS and "192.168.7.20" not in settings.ALLOWED_HOSTS
    assert settings.SESSION_COOKIE_SECURE and settings.CSRF_COOKIE_SECURE
    assert authority.read(settings.TRUST_DIR).fingerprint() == secure.fingerprint


def test_nothing_changes_while_nothing_changed(machine, settings):
    https.prepare(timezone.now())
    before = served(settings).serial_number
    https.renewed()
    assert served(settings).serial_number == before


def test_a_name_beyond_the_authoritys_limits_is_left_out_and_said(machine, settings):
    https.prepare(timezone.now())
    machine(*AT_HOME, "198.51.100.9", "book.farm.example")
    secure = https.prepare(timezone.now())
    assert set(secure.left_out) == {"198.51.100.9", "book.farm.example"}
    assert names(served(settings)) == {*AT_HOME, "localhost"}
    said = "\n".join(https.told(secure, 8443, 8000))
    assert "not 198.51.100.9" in said and "https://198.51.100.9" not in said
    assert "http://192.168.7.20:8000/trust/" in said


def test_a_clock_before_the_authoritys_time_is_said_at_the_start_and_changes_nothing_later(
    machine, settings, monkeypatch
):
    https.prepare(timezone.now())
    before = served(settings).serial_number
    long_ago = timezone.now() - timedelta(days=5000)
    with pytest.raises(CommandError, match="Set the clock"):
        https.prepare(long_ago)
    monkeypatch.setattr(https.timezone, "now", lambda: long_ago)
    https.renewed()
    assert served(settings).serial_number == before


def test_the_door_asks_once_an_hour(monkeypatch):
    asked = []
    door = plain.Door.__new__(plain.Door)
    door.hourly, door.due = lambda: asked.append(1), 100.0
    for moment in (99, 100, 101, 3699, 3700, 3701):
        monkeypatch.setattr(plain.time, "monotonic", lambda moment=moment: float(moment))
        door.service_actions()
    assert len(asked) == 2
