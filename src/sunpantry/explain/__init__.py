"""Explanations that a neighbour understands, and what a meter should show."""
