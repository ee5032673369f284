"""Where a request came from, as far as counting needs it."""

import ipaddress

from axes.helpers import get_client_ip_address
from django.http import HttpRequest
from django.utils.crypto import salted_hmac

# A household or a firm is given a whole /64 of IPv6 addresses.
IPV6_PREFIX = 64


def network_digest(request: HttpRequest, purpose: str) -> str:
    """Return a keyed digest (64 hex digits) of the network that the request came from.

    Two purposes give two digests, so that what is counted for one tells nothing of the other.
    The network is the one that failed sign-ins are counted by.
    """
    address = str(get_client_ip_address(request) or "")
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        network = address
    else:
        mapped = getattr(parsed, "ipv4_mapped", None) or parsed
        prefix = IPV6_PREFIX if mapped.version == 6 else 32
        network = str(ipaddress.ip_network((mapped, prefix), strict=False))
    return salted_hmac(purpose, network, algorithm="sha256").hexdigest()
