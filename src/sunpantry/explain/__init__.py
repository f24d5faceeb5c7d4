"""Explanations that a neighbour understands, and what a meter should show."""

from sunpantry.explain.topics import Topic, explain, topic, topics

__all__ = ["Topic", "explain", "topic", "topics"]
