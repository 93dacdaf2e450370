"""Weaves as data, and the sheets they make, solved from contact."""
