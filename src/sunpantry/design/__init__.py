"""The design document: what must run, where, with which parts; typed and validated."""
