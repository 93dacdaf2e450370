"""Ringloft's window and command line: shows what core says, changes it only through edits."""
