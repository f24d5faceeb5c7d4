"""The page: the whole job in a browser, on the same plan as every other face."""
