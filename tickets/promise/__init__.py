"""When: the reader of open work, the engine, promises, what is expected, what is late."""
