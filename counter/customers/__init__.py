"""Finding a customer, and how each stands: what is here, what is owed."""
