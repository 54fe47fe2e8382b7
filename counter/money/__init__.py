"""Prices of the work, amounts, payments and balances."""
