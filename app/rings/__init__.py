"""Rings as pictures: sprites and layers on the canvas, arcs for close-ups, swatches."""
