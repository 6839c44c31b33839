"""One synchronized shift: what it asks of a ring, and which facing stands it."""
