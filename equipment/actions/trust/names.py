"""By which names and addresses this machine is reached on its network."""

import ipaddress
import socket
from collections.abc import Iterable
from dataclasses import dataclass

import ifaddr

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Network = ipaddress.IPv4Network | ipaddress.IPv6Network


@dataclass(frozen=True)
class Names:
    """`dns` in lower case, the plainest first; `addresses` with the one to tell people first."""

    dns: tuple[str, ...]
    addresses: tuple[Address, ...]

    def hosts(self) -> list[str]:
        """As they stand in an address of the web: an IPv6 one in brackets."""
        return [*self.dns, *map(in_url, self.addresses)]

    def to_tell(self) -> str:
        """The host to tell people: an address that a phone can reach, else the machine's name."""
        reachable = [in_url(address) for address in self.addresses if not address.is_loopback]
        return (reachable or self.hosts())[0]


def in_url(address: Address) -> str:
    return f"[{address}]" if address.version == 6 else str(address)


def of_this_machine(others: Iterable[str] = ()) -> Names:
    """What the machine says of itself, and the names or addresses in `others`."""
    host = socket.gethostname().lower()
    told = [host, f"{host.split('.')[0]}.local", *others, "localhost"]
    found = [ip.ip[0] if ip.is_IPv6 else ip.ip for card in ifaddr.get_adapters() for ip in card.ips]
    return sorted_out([*told, *found, "127.0.0.1", "::1"])


def sorted_out(hosts: Iterable[str]) -> Names:
    """Names apart from addresses, each once; what is neither (a wildcard, a link-local address) is left out."""
    dns: dict[str, None] = {}
    addresses: dict[Address, None] = {}
    for host in hosts:
        address = as_address(host)
        if address is None and is_name(host):
            dns[host.lower()] = None
        elif address is not None and not address.is_link_local:
            addresses[address] = None
    return Names(tuple(dns), tuple(sorted(addresses, key=less_told)))


def as_address(host: str) -> Address | None:
    try:
        return ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return None


def is_name(host: str) -> bool:
    """Whether a certificate can carry it as it is: letters, digits, hyphens and dots (RFC 1123)."""
    labels = host.split(".")
    return host.isascii() and all(
        label and label.replace("-", "").isalnum() and label.strip("-") == label and len(label) < 64
        for label in labels
    )


def less_told(address: Address) -> tuple[bool, bool, bool]:
    """Sorts the address that a person can type and a phone can reach to the front."""
    return (address.is_loopback, address.version == 6, not address.is_private)
