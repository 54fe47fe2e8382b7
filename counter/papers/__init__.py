"""Claim slip, receipt and day sheet: what stands on them, as PDF bytes."""
