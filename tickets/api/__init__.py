"""What every operation of the API shares: shapes, errors, one-time keys."""
