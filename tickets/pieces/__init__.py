"""Pages and papers of a ticket and of one piece; opening a ticket, deciding again."""
