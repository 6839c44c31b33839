"""The shop's own boxes and jugs."""
