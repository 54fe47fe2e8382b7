"""Taking pieces in: the draft, one judgement of it, and the ticket it becomes."""
