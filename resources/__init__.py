"""Fonts, icons, tables and texts shipped with the program."""
