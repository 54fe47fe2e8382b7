"""The only door through which a piece changes place or state, and where each is."""
