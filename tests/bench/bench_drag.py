"""How long a frame takes while a corner of a panel is dragged: recount, then repaint.

Run: ``python -m tests.bench.bench_drag``. Medians of many frames, each with an outline never
seen before, at 1600 × 1000 pixels with the whole panel in view. The rivals run in between, on
the same outlines: `shapely.contains_xy` on a prepared polygon asked which sites of the weave lie
inside, and one `drawEllipse` for each ring.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import shapely
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter, QPen
from PySide6.QtWidgets import QApplication

from app import theme
from app.canvas.view import View
from app.rings.ring_layer import RingLayer, Sheet
from core.fill import BODY, sites
from core.outline import Curve, Loop, Node, Outline, polygon
from core.panel import EdgeFinish, Panel
from core.ring import RingSpec
from core.tally import PanelTally, tally_panel

SIZE = (1600, 1000)
FRAME_MS = 16.0

SPEC = RingSpec(1, "Body ring", "steel-galvanized", 1.25, 6.0, inner_measured_mm=6.25)


def panel(rings: int, grain_deg: float) -> Panel:
    """A yoke with curved shoulders, a neck and one edged side, of about that many rings."""
    # By trial: each ring takes 66.7 mm² of the square that this shape is drawn in.
    w = math.sqrt(66.7 * rings)
    h = 0.62 * w

    def node(i: int, x: float, y: float, curve: Curve | None = None) -> Node:
        return Node(i, x * w, y * h, True, curve)

    nodes = (
        node(1, 0.0, 0.25),
        node(2, 0.30, 0.0, Curve(0.05 * w, 0.18 * h, -0.05 * w, 0.18 * h)),
        node(3, 0.70, 0.0),
        node(4, 1.0, 0.25, Curve(0.0, 0.2 * h, 0.04 * w, -0.2 * h)),
        node(5, 0.94, 0.80, Curve(-0.1 * w, 0.12 * h, 0.12 * w, 0.0)),
        node(6, 0.50, 1.0, Curve(-0.12 * w, 0.0, 0.1 * w, 0.12 * h)),
        node(7, 0.06, 0.80, Curve(-0.04 * w, -0.2 * h, 0.0, 0.2 * h)),
    )
    return Panel(
        1,
        "Yoke",
        Outline(Loop(nodes)),
        1,
        grain_deg=grain_deg,
        origin_x_mm=w / 2,
        origin_y_mm=h / 2,
        edges=(EdgeFinish(4, "edged"),),
    )


def dragged(start: Panel, frame: int) -> Panel:
    """The panel with its lower right corner moved a little further."""
    nodes = list(start.outline.rim.nodes)
    turn = frame * 0.37
    nodes[4] = replace(
        nodes[4],
        x_mm=nodes[4].x_mm + 6 * math.cos(turn) + 0.01 * frame,
        y_mm=nodes[4].y_mm + 6 * math.sin(turn),
    )
    return replace(start, outline=Outline(Loop(tuple(nodes))))


def timed(work: Callable[[], object]) -> float:
    """Milliseconds the work took."""
    begin = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - begin)


def lattice_sites(tally: PanelTally, box: tuple[float, float, float, float]) -> np.ndarray:
    """Every site of the weave in a box of the panel frame, (n, 2)."""
    p, s = tally.panel, tally.solved
    turn = math.radians(p.grain_deg)
    far = math.hypot(box[2] - box[0], box[3] - box[1])
    rows = np.arange(-int(far / s.across_mm), int(far / s.across_mm) + 1)
    ks = np.arange(-int(far / s.along_mm), int(far / s.along_mm) + 1)
    row, k = (grid.ravel() for grid in np.meshgrid(rows, ks, indexing="ij"))
    phase = np.array([c.phase for c in tally.weave.courses])[row % len(tally.weave.courses)]
    u, v = (k + phase) * s.along_mm, row * s.across_mm
    x = p.origin_x_mm + u * math.cos(turn) - v * math.sin(turn)
    y = p.origin_y_mm + u * math.sin(turn) + v * math.cos(turn)
    near = (x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3])
    return np.column_stack([x[near], y[near]])


def ellipses(painter: QPainter, tally: PanelTally, view: View) -> None:
    """The rival: every ring by one call."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor("#969CA2"), tally.solved.wire_mm * view.scale))
    at = sites(tally.fill)
    a = tally.solved.centreline_mm * math.cos(tally.solved.lean_rad) * view.scale
    b = tally.solved.centreline_mm * view.scale
    for x, y in zip(at.x_mm.tolist(), at.y_mm.tolist(), strict=True):
        painter.drawEllipse(QPointF(*view.to_px(x, y)), a, b)


def run(rings: int, grain_deg: float, frames: int, dpr: float) -> bool:
    """Measure and print one line; whether a frame is under the budget."""
    start = panel(rings, grain_deg)
    box = polygon(start.outline).bounds
    view = View.fitted(box, (24.0, 24.0, SIZE[0] - 24.0, SIZE[1] - 24.0))
    image = QImage(int(SIZE[0] * dpr), int(SIZE[1] * dpr), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(dpr)
    layer, other = RingLayer(), RingLayer()
    counts, paints, anew, insides, draws = [], [], [], [], []
    tally = tally_panel(start, SPEC)
    every = lattice_sites(tally, (box[0] - 9, box[1] - 9, box[2] + 9, box[3] + 9))

    def paint(by: Callable[[QPainter], None]) -> float:
        image.fill(theme.LIGHT.canvas)
        painter = QPainter(image)
        took = timed(lambda: by(painter))
        painter.end()
        return took

    for frame in range(-5, frames):
        moved = dragged(start, frame)
        count = timed(lambda moved=moved: tally_panel(moved, SPEC))
        tally = tally_panel(moved, SPEC)

        def rings_of(painter: QPainter, tally: PanelTally = tally) -> None:
            sheet = Sheet(tally.solved, ("steel",), theme.LIGHT, grain_deg)
            layer.paint(painter, view, SIZE, dpr, tally.fill, sheet)

        def all_anew(painter: QPainter, tally: PanelTally = tally, frame: int = frame) -> None:
            # Moved by part of a pixel, nothing that was kept is of use.
            aside = view.panned(0.3 + 0.1 * (frame % 2), 0.0)
            sheet = Sheet(tally.solved, ("steel",), theme.LIGHT, grain_deg)
            other.paint(painter, aside, SIZE, dpr, tally.fill, sheet)

        first, again = paint(rings_of), paint(all_anew)
        if frame < 0:  # sprites are made and memory is found
            continue
        counts.append(count)
        paints.append(first)
        anew.append(again)
        if frame % 10 == 0:
            shape = polygon(moved.outline)
            shapely.prepare(shape)
            insides.append(timed(lambda s=shape: shapely.contains_xy(s, every[:, 0], every[:, 1])))
            draws.append(paint(lambda p, t=tally: ellipses(p, t, view)))
    count, first, again = (statistics.median(x) for x in (counts, paints, anew))
    inside, draw = statistics.median(insides), statistics.median(draws)
    total = count + first
    print(
        f"{tally.fill.count(BODY):>7,} rings, grain {grain_deg:>2g}°, pixel ratio {dpr:g}:"
        f" recount {count:5.2f} + repaint {first:5.2f} = {total:5.2f} ms,"
        f" {total / FRAME_MS:4.2f} of a frame; all painted anew {again:5.2f} ms;"
        f" contains_xy ÷ recount {inside / count:5.2f}, drawEllipse ÷ repaint {draw / first:5.1f}"
    )
    return total < FRAME_MS


def main() -> int:
    """Run it; 0 when a dragged panel of 20,000 rings keeps within a frame."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--frames", type=int, default=60)
    parser.add_argument("--rings", type=int, nargs="*", default=[20_000, 100_000])
    parser.add_argument("--pixel-ratio", type=float, default=1.0)
    given = parser.parse_args()
    app = QApplication.instance() or QApplication(sys.argv[:1])
    kept = [
        run(rings, grain, given.frames, given.pixel_ratio)
        for rings in given.rings
        for grain in (0.0, 17.0, 45.0)
    ]
    del app
    return 0 if all(kept[:3]) else 1


if __name__ == "__main__":
    sys.exit(main())
