"""What the owner's pages send, a file for each table; the rules stand behind the doors."""
