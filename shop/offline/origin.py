"""Whether a request comes from our own page. Stands in for the form token, which a queue would outlive."""

from urllib.parse import urlsplit


def is_ours(request) -> bool:
    """True when the browser says so: by `Sec-Fetch-Site`, else by `Origin`; both have to agree where both are there.

    A browser on plain http sends no `Sec-Fetch-Site`. A request with neither is nobody's page and is refused.
    """
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    if site is not None and site != "same-origin":
        return False
    if origin is not None and not _same_host(origin, request.get_host()):
        return False
    return site is not None or origin is not None


def may_read(request) -> bool:
    """For reading, which browsers send without an `Origin`: only a foreign page is turned away."""
    unsaid = "Sec-Fetch-Site" not in request.headers and "Origin" not in request.headers
    return unsaid or is_ours(request)


def _same_host(origin: str, host: str) -> bool:
    # Only the host: behind a proxy that speaks TLS for us the scheme differs.
    try:
        found = urlsplit(origin)
    except ValueError:
        return False
    return found.scheme in ("http", "https") and found.netloc.lower() == host.lower()
