"""Save picture…: by key from the window, and from the command line; disks that refuse."""

import argparse
import errno
import io
import json
import os
from dataclasses import replace

import pdfplumber
import pytest
from PySide6.QtCore import QByteArray, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QFileDialog

from app import messages, pictures, pictures_cli, theme
from app.cli import main
from app.messages import Question
from app.pictures_menu import kinds, png_picture
from core.errors import RingloftError
from core.picture import GONE
from core.project import Project
from core.shading import EDGED
from core.weave.cells import WEAVES
from core.weave.lay import Lay
from tests.app.canvas_board import RING, costume
from tests.app.shell_board import Shell
from tests.core.drawn import Drawn, rings_of

SAVE = (Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)


WIDE = replace(RING, inner_measured_mm=9.0)
"""A ring that every weave can be made from."""


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch)


def save(shell, path):
    shell.answers = [None if path is None else str(path)]
    shell.press(*SAVE)


def test_the_selected_panel_is_saved_as_svg_with_all_its_rings(shell, tmp_path):
    out = tmp_path / "front.svg"
    save(shell, out)
    (asked,) = shell.asked
    assert (asked.kind, asked.files) == ("save", kinds())
    shown = Drawn(out.read_text(encoding="utf-8"))
    drawn = rings_of(shown.metal())
    made = pictures.panel_picture(shell.document.project, shell.panel)
    assert len(drawn) == made.rings > 50
    assert "Saved the picture as “front.svg”" in shell.remarks[-1][0]
    assert not shell.document.dirty, "a picture is no change of the costume"


def test_as_pdf_the_page_is_the_picture_and_its_border(shell, tmp_path):
    out = tmp_path / "front.PDF"
    save(shell, out)
    size = pictures.panel_picture(shell.document.project, shell.panel).size_mm
    with pdfplumber.open(io.BytesIO(out.read_bytes())) as pdf:
        page = pdf.pages[0]
        found = page.width * 25.4 / 72, page.height * 25.4 / 72
    assert found == pytest.approx([side + 2 * pictures.PDF_MARGIN_MM for side in size], abs=1e-3)


def test_as_png_it_knows_its_true_size(shell, tmp_path):
    out = tmp_path / "front.png"
    save(shell, out)
    image = QImage(str(out))
    size = pictures.panel_picture(shell.document.project, shell.panel).size_mm
    for pixels, dots, side in zip(
        (image.width(), image.height()), (image.dotsPerMeterX(), image.dotsPerMeterY()), size,
        strict=True,
    ):  # fmt: skip
        assert pixels / dots * 1000 == pytest.approx(side, abs=0.1)


def test_on_the_rings_page_it_is_a_piece_of_the_ring_in_hand(shell, tmp_path):
    shell.press(Qt.Key.Key_2)
    out = tmp_path / "piece.svg"
    save(shell, out)
    shown = Drawn(out.read_text(encoding="utf-8"))
    assert shown.size[:2] == ("100mm", "70mm")


def test_without_a_panel_it_says_so_and_asks_for_no_file(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch, Project("", (RING,), (), next_id=50))
    shell.press(*SAVE)
    assert [q.kind for q in shell.asked] == ["choice"]
    assert "No panel is selected" in shell.asked[0].text


def test_put_off_it_writes_nothing(shell, tmp_path):
    save(shell, None)
    assert len(shell.asked) == 1
    assert list(tmp_path.iterdir()) == []


def test_an_ending_that_is_no_picture_is_refused_in_a_sentence(shell, tmp_path):
    save(shell, tmp_path / "front.gif")
    assert list(tmp_path.iterdir()) == []
    told = shell.asked[-1]
    assert told.warning and "“.gif” is no kind of picture" in told.text
    assert ".svg" in told.more


@pytest.mark.parametrize("suffix", [".svg", ".pdf", ".png"])
def test_a_full_disk_leaves_the_old_picture_whole(shell, tmp_path, monkeypatch, suffix):
    out = tmp_path / f"front{suffix}"
    out.write_bytes(b"the old one")

    def full(*_args):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        save(shell, out)
    assert out.read_bytes() == b"the old one"
    assert [p.name for p in tmp_path.iterdir()] == [out.name]
    assert "No space left" in shell.asked[-1].text
    assert shell.asked[-1].title == "The picture was not saved"


def test_a_folder_that_is_not_there_is_told(shell, tmp_path):
    save(shell, tmp_path / "no" / "front.pdf")
    assert shell.asked[-1].warning and "could not be saved" in shell.asked[-1].text


def test_a_panel_too_large_to_show_is_told_before_any_file_is_asked_for(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch)
    monkeypatch.setattr(pictures, "MOST_RINGS", 10)
    shell.press(*SAVE)
    assert [q.kind for q in shell.asked] == ["choice"]
    assert "more than other programs can show" in shell.asked[0].text


@pytest.mark.parametrize(
    ("typed", "chosen", "expected"),
    [("front", 0, "front.svg"), ("front", 1, "front.pdf"), ("front.png", 0, "front.png")],
)
def test_a_name_without_ending_gets_that_of_the_kind_chosen(
    qtbot, monkeypatch, tmp_path, typed, chosen, expected
):
    def dialog(_parent, _title, _start, filters):
        return str(tmp_path / typed), filters.split(";;")[chosen]

    monkeypatch.setattr(QFileDialog, "getSaveFileName", dialog)
    found = messages.ask(None, Question("save", "Save", files=kinds()))
    assert found == str(tmp_path / expected)


@pytest.mark.parametrize(("answer", "kept"), [("replace", True), ("cancel", False)])
def test_a_file_the_dialog_could_not_see_is_replaced_only_when_the_maker_says(
    qtbot, monkeypatch, tmp_path, answer, kept
):
    (tmp_path / "front.svg").write_text("old", encoding="utf-8")
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda *a: (str(tmp_path / "front"), a[3].split(";;")[0])
    )
    monkeypatch.setattr(messages, "_ask_choice", lambda _parent, _question: answer)
    found = messages.ask(None, Question("save", "Save", files=kinds()))
    assert (found is not None) == kept


@pytest.mark.parametrize("weave", list(WEAVES))
def test_pixels_agree_with_the_drawing_as_another_reader_draws_it(qtbot, weave):
    """PNG from our painter beside the SVG drawn by Qt's own reader, at 12 pixels a mm."""
    shown = pictures.swatch_picture((WIDE,), weave, Lay("spread"), (18.0, 12.0))
    mine = QImage.fromData(QByteArray(png_picture(shown)))
    its = QImage(mine.size(), QImage.Format.Format_RGB32)
    its.fill(QColor("white"))
    painter = QPainter(its)
    QSvgRenderer(QByteArray(pictures.picture_bytes(shown, ".svg"))).render(painter)
    painter.end()
    wide, high = mine.width(), mine.height()
    far = 0
    for x in range(2, wide, 5):
        for y in range(2, high, 5):
            a, b = mine.pixelColor(x, y), its.pixelColor(x, y)
            far += abs(a.lightness() - b.lightness()) > 40
    assert far < 0.02 * (wide / 5) * (high / 5)


def test_print_has_the_colours_of_the_paper_theme():
    assert QColor(*EDGED) == theme.LIGHT.role_edged
    assert QColor(*GONE) == theme.LIGHT.ink3


# --- without a window ---------------------------------------------------------------------------


def ask(*words, project=None):
    parser = argparse.ArgumentParser()
    pictures_cli.add_arguments(parser)
    return pictures_cli.run(parser.parse_args([str(w) for w in words]), project)


@pytest.mark.parametrize("weave", list(WEAVES))
@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_a_piece_of_any_weave_is_written_at_the_size_asked_for(tmp_path, weave, suffix):
    out = tmp_path / f"piece.{suffix}"
    done = ask("--weave", weave, "--wire", "1mm", "--inner", "6.2mm", "--width", "2in",
               "--height", "30mm", "--metal", "brass", "-o", out)  # fmt: skip
    assert (done["width_mm"], done["height_mm"]) == (50.8, 30)
    assert json.loads(json.dumps(done))["rings"] > 10
    assert out.stat().st_size > 1000
    assert "50.8 × 30.0 mm" in pictures_cli.text(done)


def test_a_panel_by_name_or_the_only_one(tmp_path):
    project = costume()
    name = project.panels[0].name
    done = [
        ask("x.ringloft", *words, "-o", tmp_path / "a.svg", project=project)
        for words in (("--panel", name),) + (((),) if len(project.panels) == 1 else ())
    ]
    assert done[0] == done[-1] and done[0]["rings"] > 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("x.ringloft", "--panel", "Nowhere", "-o", "a.svg"), "no panel “Nowhere”"),
        (("-o", "a.svg"), "nothing to show"),
        (("--weave", "european-4-in-1", "-o", "a.svg"), "nothing to show"),
        (("--weave", "european-4-in-1", "--wire", "1mm", "--inner", "2mm", "-o", "a.svg"), ""),
        (("--weave", "european-4-in-1", "--wire", "1mm", "--inner", "5mm", "-o", "a.txt"),
         "neither .svg nor .pdf"),
        (("--weave", "european-4-in-1", "--wire", "1mm", "--inner", "5mm", "--width", "900m",
          "-o", "a.svg"), ""),
    ],
)  # fmt: skip
def test_what_cannot_be_shown_is_told_and_nothing_is_written(tmp_path, monkeypatch, words, told):
    monkeypatch.chdir(tmp_path)
    project = costume() if words[0] == "x.ringloft" else None
    with pytest.raises(RingloftError) as caught:
        ask(*words, project=project)
    assert told in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_the_command_writes_it_and_says_what(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    piece = ("picture", "--weave", "japanese-square", "--wire", "1mm", "--inner", "5mm")
    assert main([*piece, "-o", "a.svg"]) == 0
    assert "100.0 × 70.0 mm" in capsys.readouterr().out
    assert main([*piece, "--json", "-o", "b.pdf"]) == 0
    assert json.loads(capsys.readouterr().out)["file"] == "b.pdf"
    assert main(["picture", "shoulder_pair", "--panel", "Nowhere", "-o", "c.svg"]) == 1
    assert "Nowhere" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.svg", "b.pdf"]
