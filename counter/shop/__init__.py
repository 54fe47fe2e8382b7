"""The owner's settings: hours, prices, holidays, and every table of the shop."""
