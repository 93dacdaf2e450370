"""Ringloft's arithmetic: frozen values and pure functions, free of any window toolkit."""
