"""The back room: tickets and their pieces, from the counter's hand to the rack."""
