"""Customers, and the garments that come again with their wash counts."""
