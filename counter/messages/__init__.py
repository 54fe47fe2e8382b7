"""What customers are told: ready notices and reminders, and their sending."""
