"""What stays of the old fluid."""
