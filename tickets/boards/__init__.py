"""The station boards: what waits here, what to do with it, what a scan there does."""
