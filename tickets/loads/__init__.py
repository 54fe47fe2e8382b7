"""Loads: which pieces may share a machine run, and which runs make the best shop day.

From nouns to rows: ``items`` is what a load knows of a piece, ``care`` reads it from a decision,
``planned_pieces`` from a stored piece; ``together`` says who may share and why, ``planner`` plans
``runs``; ``formulas`` and ``estimates`` give water, heat and minutes; ``proposals`` and ``bags``
are what to make now.
"""
