"""How laws over random questions are tried."""

from hypothesis import HealthCheck, settings


def law(examples: int) -> settings:
    """A law over so many random questions, the same in every run."""
    return settings(max_examples=examples, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
