"""A plan shown as text, JSON, charts and paper; knows no physics."""
