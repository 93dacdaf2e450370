"""Data that travels with the program: gauge and metal tables, weave tables, texts, icons, font."""
