"""Handing finished pieces over, counted by scan, and to whom."""
