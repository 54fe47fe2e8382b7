"""What the shop is made of: days, crews, machines, partners, drying places, weights."""
