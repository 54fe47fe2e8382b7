"""A made-up shop with a history, for trying things out."""
