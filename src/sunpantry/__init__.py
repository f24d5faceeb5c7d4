"""Sunpantry plans, proves and explains small solar systems for any place on land."""

__version__ = "0.1.0"
