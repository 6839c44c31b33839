"""A complaint: what was observed, and what it speaks for and against."""
