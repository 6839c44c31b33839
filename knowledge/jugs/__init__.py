"""A jug read from its label and its data sheet, and judged like a class."""
