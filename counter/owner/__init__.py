"""The owner's figures: the day, what is late, tomorrow's jam, lists."""
