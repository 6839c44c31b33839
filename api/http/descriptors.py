"""How many files and connections this process may have open."""

from contextlib import suppress

try:
    import resource
except ImportError:  # Windows has no such limit.
    resource = None  # type: ignore[assignment]

ENOUGH = 65_536


def descriptor_limit() -> int:
    """How many may be open at once."""
    return resource.getrlimit(resource.RLIMIT_NOFILE)[0] if resource else ENOUGH


def raise_descriptor_limit() -> None:
    """Take as many as the system allows without asking; processes that are started later have as many."""
    if resource:
        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        most = ENOUGH if hard == resource.RLIM_INFINITY else min(hard, ENOUGH)
        with suppress(ValueError, OSError):  # Some systems name a limit that they do not grant.
            resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, most), hard))
