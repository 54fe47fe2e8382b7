"""What every operation of the API shares: shapes, errors, filters, one-time keys."""
