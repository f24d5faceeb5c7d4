"""The parts list: typed nameplates, the shipped generic catalogue, the user's own."""
