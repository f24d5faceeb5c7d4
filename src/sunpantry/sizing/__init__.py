"""Which system: the space of all that could be built, its optimum, and the hand method."""
