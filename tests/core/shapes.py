"""Outlines, rings and random panels that several tests draw on."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st

from core.outline import Curve, Loop, Node, Outline
from core.panel import EdgeFinish

WEAVE = "european-4-in-1"


def rectangle(width_mm, height_mm, x_mm=0.0, y_mm=0.0, first_id=1):
    """A rectangle whose edges, from the top one clockwise, start at ids first_id and on."""
    corners = (
        (x_mm, y_mm),
        (x_mm + width_mm, y_mm),
        (x_mm + width_mm, y_mm + height_mm),
        (x_mm, y_mm + height_mm),
    )
    return Outline(Loop(tuple(Node(first_id + i, x, y) for i, (x, y) in enumerate(corners))))


def circle_loop(radius_mm, x_mm=0.0, y_mm=0.0, first_id=1, reverse=False):
    """A circle of four cubics; corners at its four quarter points."""
    k = 0.5522847498 * radius_mm
    turn = -1 if reverse else 1
    nodes = []
    for i in range(4):
        a, b = turn * i * math.pi / 2, turn * (i + 1) * math.pi / 2
        out = (-turn * math.sin(a) * k, turn * math.cos(a) * k)
        back = (turn * math.sin(b) * k, -turn * math.cos(b) * k)
        nodes.append(
            Node(
                first_id + i,
                x_mm + radius_mm * math.cos(a),
                y_mm + radius_mm * math.sin(a),
                curve=Curve(*out, *back),
            )
        )
    return Loop(tuple(nodes))


@st.composite
def star_loops(draw, low_mm=20.0, high_mm=45.0, x_mm=0.0, y_mm=0.0, first_id=1):
    """A loop round a middle: its points lie in turn round it, so straight ones never cross."""
    n = draw(st.integers(3, 9))
    nodes = []
    for i in range(n):
        angle = 2 * math.pi * (i + draw(st.floats(0.0, 0.8))) / n
        radius = draw(st.floats(low_mm, high_mm))
        curve = None
        if draw(st.booleans()):
            bend = st.floats(-0.12 * radius, 0.12 * radius)
            curve = Curve(draw(bend), draw(bend), draw(bend), draw(bend))
        nodes.append(
            Node(
                first_id + i,
                x_mm + radius * math.cos(angle),
                y_mm + radius * math.sin(angle),
                corner=draw(st.booleans()),
                curve=curve,
            )
        )
    return Loop(tuple(nodes))


@st.composite
def outlines(draw):
    """Curved outlines, some with one or two holes; a few of them cross themselves."""
    rim = draw(star_loops())
    holes = []
    if draw(st.booleans()):
        holes.append(draw(star_loops(3.0, 7.0, 4.0, 3.0, first_id=100)))
    if draw(st.booleans()):
        holes.append(draw(star_loops(1.0, 3.0, -8.0, -5.0, first_id=200)))
    return Outline(rim, tuple(holes))


def all_edged(outline):
    """Every edge edged."""
    from core.outline import edge_ids

    return tuple(EdgeFinish(i, "edged") for i in edge_ids(outline))


def lattice_sites(solved, grain_deg, origin, reach_mm):
    """Every site within reach of the origin, listed one by one: row, k, x, y.

    Written out plainly, on purpose: it is what the fill is held against.
    """
    rows = int(reach_mm / solved.across_mm) + 2
    ks = int(reach_mm / solved.along_mm) + 2
    row, k = np.meshgrid(np.arange(-rows, rows + 1), np.arange(-ks, ks + 1), indexing="ij")
    row, k = row.ravel(), k.ravel()
    u = (k + np.where(row % 2, 0.5, 0.0)) * solved.along_mm
    v = row * solved.across_mm
    g = math.radians(grain_deg)
    x = origin[0] + u * math.cos(g) - v * math.sin(g)
    y = origin[1] + u * math.sin(g) + v * math.cos(g)
    return row, k, x, y
