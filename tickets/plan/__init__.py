"""The day played forward: who does what, when and where, for the wall and on paper."""
