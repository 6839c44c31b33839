"""What is known of a box, what is not, and what rules may read of it."""
