"""Loads: which pieces may share a machine run, and which runs make the best shop day.

Pure computing: no database, no clock, no setting. ``care`` reads a decision, ``together`` says who
may share and why, ``planner`` plans, ``plans`` scores and checks a plan, ``sums`` estimates water,
heat and minutes.
"""
