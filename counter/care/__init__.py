"""The care book for staff, its drawings, the house's own rules, overrides."""
