"""What the parts do: pure functions, one file a subject, checked against published values."""
