"""The day played forward event by event: who does what, when, at which station."""
