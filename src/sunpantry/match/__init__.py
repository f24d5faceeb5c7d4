"""Do these parts suit each other: one small rule a function, each with its remedy."""
