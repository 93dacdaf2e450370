"""A picture as SVG 1.1 at true size: user units are mm, and the file says so.

Each stamp is defined once and used at every place; a group for each level keeps the drawing
order plain to whoever opens the file in a drawing program. The same picture gives the same bytes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.picture import STRING, Layer, Picture, Stamp, strings
from core.shading import Colour, Shape

_DIGITS = 3  # a micrometre


def svg_picture(picture: Picture) -> str:
    """The text of an SVG file.

    Args:
        picture: what to draw.
    """
    x, y, _x1, _y1 = picture.box_mm
    width, height = picture.size_mm
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' version="1.1" width="{_n(width)}mm" height="{_n(height)}mm"'
        f' viewBox="{_n(x)} {_n(y)} {_n(width)} {_n(height)}">',
    ]
    for tag, key in (("title", "title"), ("desc", "about")):
        if words := picture.words.get(key):
            out.append(f"<{tag}>{_text(words)}</{tag}>")
    out.append("<defs>")
    shown = []
    for level, layers in picture.levels():
        shown.append(f'<g id="{_level_name(level)}">')
        for layer in layers:
            defined, used = _layer(layer)
            out += defined
            shown += used
        shown.append("</g>")
    out.append("</defs>")
    out.append("<g>")
    out += shown
    out += ["</g>", "</svg>", ""]
    return "\n".join(out)


def _text(words: str) -> str:
    """Words for XML, which knows no control characters."""
    plain = "".join(c if c.isprintable() else " " for c in words)
    return plain.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _level_name(level: int) -> str:
    return "places-without-a-ring" if level == -1 else f"level-{level}"


def _n(value: float) -> str:
    """A number as short as it goes."""
    text = f"{value:.{_DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _colour(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _stamp(stamp: Stamp) -> list[str]:
    return [f'<g id="{stamp.name}">', *(_shape(shape) for shape in stamp.shapes), "</g>"]


def _shape(shape: Shape) -> str:
    path = "".join(_loop(loop) for loop in shape.loops)
    if not shape.width_mm:
        return f'<path fill="{_colour(shape.colour)}" d="{path}"/>'
    dash = ",".join(_n(part) for part in shape.dash_mm)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path fill="none" stroke="{_colour(shape.colour)}" stroke-width="{_n(shape.width_mm)}"'
        f'{dashes} stroke-linejoin="round" d="{path}"/>'
    )


def _loop(points: NDArray[np.float64]) -> str:
    """A closed polygon: the first corner, then steps from each to the next in micrometres."""
    whole = np.rint(points * 10**_DIGITS).astype(np.int64)
    steps = np.diff(whole, axis=0)
    first = " ".join(_n(float(v) / 10**_DIGITS) for v in whole[0])
    unit = 10**_DIGITS
    rest = " ".join(f"{_n(dx / unit)} {_n(dy / unit)}" for dx, dy in steps.tolist())
    return f"M{first}l{rest}z"


def _layer(layer: Layer) -> tuple[list[str], list[str]]:
    """What a layer needs defined, and what it shows."""
    name, found = layer.stamp.name, strings(layer)
    defined = _stamp(layer.stamp)
    if len(found.starts):
        along = np.arange(STRING)[:, None] * np.array(found.step_mm)
        defined += [f'<g id="{name}-row">', *_uses(name, along), "</g>"]
    return defined, _uses(f"{name}-row", found.starts) + _uses(name, found.singles)


def _uses(name: str, places: NDArray[np.float64]) -> list[str]:
    head = f'<use xlink:href="#{name}" x="'
    return [f'{head}{_n(x)}" y="{_n(y)}"/>' for x, y in places.tolist()]
