"""Invented costumes, opened by the tests and by new users."""
