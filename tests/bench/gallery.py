"""Pictures of every weave in every lay, to look at, and how long each takes.

Run: ``python -m tests.bench.gallery OUT_DIR``. Writes PNGs of captioned sheets, light and dark,
close-ups by arcs and by sprites at two grains among them, and prints the times of each sheet:
solving it, ordering its arcs, its sprites, and painting it once they are there.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from app import theme as themes
from app.rings.painter import draw_arcs
from app.rings.ring_layer import RingLayer, Sheet
from app.theme import Theme
from core.drawing import RingPlaces, place_arcs, rings_at, sheet_sites
from core.errors import RingloftError
from core.weave.cells import WEAVES, Weave
from core.weave.lay import Lay, solve_lay
from core.weave.levels import ring_levels
from core.weave.sheet import SolvedLay

LAYS = (
    Lay("laid"),
    Lay("spread"),
    Lay("along"),
    Lay("across"),
    Lay("held", width_percent=90.0),
)
ASPECTS = (5.0, 6.5, 9.0)
WIRE_MM = 1.2
TILE, CAPTION, GAP = 250, 34, 10
CLOSE = 480
RINGS_IN_VIEW = 4.2


@dataclass(frozen=True, slots=True)
class Piece:
    """One sheet of the gallery, or why there is none."""

    caption: str
    solved: SolvedLay | None
    looks: tuple[str, ...]
    problem: str = ""
    solve_ms: float = 0.0
    order_ms: float = 0.0


def rings_of(weave: Weave) -> Iterator[tuple[str, tuple[float, float] | None]]:
    """Sizes of the second ring kind to show: the same, and one smaller."""
    yield "", None
    if len(weave.kinds) > 1:
        # A thinner wire, on a ring that takes two of the first kind's wires with room to spare.
        yield " + small", (0.75 * WIRE_MM, 2.6 * WIRE_MM)


def pieces(weave: Weave) -> list[list[Piece]]:
    """Rows of sheets: a row for each aspect ratio and second ring, a column for each lay."""
    rows = []
    for aspect in ASPECTS:
        for more, upright in rings_of(weave):
            row = []
            for lay in LAYS:
                held = "" if lay.width_percent is None else f" {lay.width_percent:g} %"
                caption = f"{lay.kind}{held}, {aspect:g} × wire{more}"
                begin = time.perf_counter()
                try:
                    solved = solve_lay(weave.id, WIRE_MM, aspect * WIRE_MM, lay, upright)
                except RingloftError as error:
                    row.append(Piece(caption, None, (), str(error)))
                    continue
                middle = time.perf_counter()
                ring_levels(solved)
                end = time.perf_counter()
                looks = ("steel", "brass") if more else ("steel",)
                row.append(
                    Piece(
                        caption,
                        solved,
                        looks,
                        solve_ms=1000 * (middle - begin),
                        order_ms=1000 * (end - middle),
                    )
                )
            rows.append(row)
    return rows


def scale_for(solved: SolvedLay, rings: float = RINGS_IN_VIEW) -> float:
    """Pixels a mm that bring about so many rings into a tile."""
    return TILE / (rings * max(solved.along_mm, 1.2 * solved.centreline_mm))


def turned(solved: SolvedLay, size_mm: float, grain_deg: float) -> RingPlaces:
    """The rings that show in a square of a turned sheet."""
    room = 1.5 * size_mm
    x, y, course = sheet_sites(solved, room, room)
    turn = math.radians(grain_deg)
    u, v = x - 0.3 * room, y - 0.3 * room
    px, py = u * math.cos(turn) - v * math.sin(turn), u * math.sin(turn) + v * math.cos(turn)
    return rings_at(solved, turn, px, py, course, np.zeros(len(x), dtype=np.int8))


def paint_tile(painter: QPainter, layer: RingLayer, piece: Piece, theme: Theme) -> str:
    """Paint a sheet into the tile at zero; returns its times in words."""
    painter.fillRect(QRectF(0, 0, TILE, TILE), theme.canvas)
    if piece.solved is None:
        painter.setPen(theme.ink3)
        box = QRectF(8, 8, TILE - 16, TILE - 16)
        painter.drawText(box, int(Qt.TextFlag.TextWordWrap), piece.problem)
        return "–"
    took = []
    for _again in range(2):
        begin = time.perf_counter()
        painter.setClipRect(QRectF(0, 0, TILE, TILE))
        sheet = Sheet(piece.solved, piece.looks, theme)
        layer.paint_sheet(painter, (TILE, TILE), 1.0, scale_for(piece.solved), sheet)
        painter.setClipping(False)
        took.append(1000 * (time.perf_counter() - begin))
    arcs = [len(parts) for parts in ring_levels(piece.solved)]
    levels = 1 + max(level for parts in ring_levels(piece.solved) for level, _a, _b in parts)
    return (
        f"solve {piece.solve_ms:6.2f}  order {piece.order_ms:6.1f}  sprites {took[0]:6.1f}"
        f"  paint {took[1]:5.2f} ms  {levels} levels, arcs {arcs}"
    )


def paint_close(
    painter: QPainter, layer: RingLayer, piece: Piece, theme: Theme, grain: float, by_arcs: bool
) -> float:
    """Paint about two rings by arcs or by sprites, turned; returns milliseconds."""
    assert piece.solved is not None
    painter.fillRect(QRectF(0, 0, CLOSE, CLOSE), theme.canvas)
    painter.setClipRect(QRectF(0, 0, CLOSE, CLOSE))
    scale = 360 / max(2 * ring.radius + ring.wire for ring in piece.solved.rings_mm)
    rings = turned(piece.solved, CLOSE / scale, grain)
    begin = time.perf_counter()
    if by_arcs:
        painter.save()
        painter.scale(scale, scale)
        arcs = place_arcs(piece.solved, math.radians(grain), rings)
        seen = (0.0, 0.0, CLOSE / scale, CLOSE / scale)
        draw_arcs(painter, arcs, piece.looks, theme, scale, seen)
        painter.restore()
    else:
        sheet = Sheet(piece.solved, piece.looks, theme, grain)
        layer.paint_rings(painter, sheet, rings, scale)
    painter.setClipping(False)
    return 1000 * (time.perf_counter() - begin)


def canvas(columns: int, rows: int, theme: Theme, tile: int) -> tuple[QImage, QPainter]:
    """A ground for that many tiles."""
    size = (GAP + columns * (tile + GAP), GAP + rows * (tile + CAPTION + GAP))
    image = QImage(*size, QImage.Format.Format_RGB32)
    image.fill(theme.panel)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    return image, painter


def tile_at(
    painter: QPainter, column: int, row: int, caption: str, theme: Theme, tile: int
) -> None:
    """Move the painter to a tile and write its caption under it."""
    painter.resetTransform()
    painter.translate(GAP + column * (tile + GAP), GAP + row * (tile + CAPTION + GAP))
    painter.setPen(theme.ink)
    painter.drawText(QRectF(0, tile + 4, tile, CAPTION), caption)


def sheets_of(weave: Weave, out: Path, theme: Theme, tell: bool) -> None:
    """One picture with all sheets of a weave, one with close-ups."""
    rows, layer = pieces(weave), RingLayer()
    image, painter = canvas(len(LAYS), len(rows), theme, TILE)
    for i, row in enumerate(rows):
        for k, piece in enumerate(row):
            tile_at(painter, k, i, piece.caption, theme, TILE)
            said = paint_tile(painter, layer, piece, theme)
            if tell:
                print(f"{weave.id:20s} {piece.caption:32s} {said}")
    painter.end()
    image.save(str(out / f"{weave.id}_{theme.scheme}.png"))
    close = [row[1] for row in rows if row[1].solved is not None][:3]
    image, painter = canvas(4, len(close), theme, CLOSE)
    for i, piece in enumerate(close):
        for k, (grain, by_arcs) in enumerate(((0, True), (0, False), (17, True), (17, False))):
            how = "arcs" if by_arcs else "sprites"
            tile_at(painter, k, i, f"{piece.caption}, {grain}°, {how}", theme, CLOSE)
            took = paint_close(painter, layer, piece, theme, grain, by_arcs)
            if tell:
                print(f"{weave.id:20s} close, {piece.caption}, {grain}°, {how}: {took:.1f} ms")
    painter.end()
    image.save(str(out / f"{weave.id}_close_{theme.scheme}.png"))


def main() -> int:
    """Run it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--weave", nargs="*", default=list(WEAVES))
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    for weave_id in given.weave:
        for theme in (themes.LIGHT, themes.DARK):
            sheets_of(WEAVES[weave_id], given.out, theme, theme is themes.LIGHT)
    del app
    return 0


if __name__ == "__main__":
    sys.exit(main())
