"""People and their PINs, devices and tokens, and who may do what."""
