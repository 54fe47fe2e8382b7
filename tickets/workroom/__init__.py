"""The bench's drawings: outlines of garments, and the places on them by name."""
