"""Text at the border: what is typed is understood, what is shown can be typed again."""

import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import units, wire
from core.errors import BadValue


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("7/8 in", 22.225),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("1½ in", 38.1),
        ("½in", 12.7),
        ('7/16"', 11.1125),
        ("7/16″", 11.1125),
        ("5'", 1524.0),
        ("5' 6\"", 1676.4),
        ("5 ft 6 1/2 in", 1689.1),
        ("1.6mm", 1.6),
        ("1,6 mm", 1.6),
        ("0,125 in", 3.175),
        (" 1.6\u202fMM ", 1.6),
        ("8", 8.0),
        ("⌀8 mm", 8.0),
        ("ø 8", 8.0),
        ("150 ft", 45720.0),
        ("2 yd", 1828.8),
        ("12.5 cm", 125.0),
        ("63 m", 63000.0),
        ("1e2 mm", 100.0),
        ("20 thou", 0.508),
        ("3 µm", 0.003),
        ("0", 0.0),
        ("-0", 0.0),
    ],
)
def test_lengths_are_read(text, mm):
    assert units.parse_length(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "mm",
        "⌀",
        "5 kg",
        "3 parsec",
        "-5 mm",
        "− 5 mm",
        "nan",
        "inf",
        "infinity mm",
        "1e400",
        "1e400 in",
        "9**9",
        "1/0 in",
        "1,600 mm",
        "1.600,5 mm",
        "1 600 mm",
        "5 blorp",
        "3 degC",
        "8 mm²",
        "__import__('os')",
        "1 2 3",
        "٣ mm",
        "8 mm\x00",
        "9" * 5000,
        "x" * 5000,
    ],
)
def test_what_is_no_length_is_refused_in_one_line(text):
    with pytest.raises(BadValue) as caught:
        units.parse_length(text, where="rod")
    said = str(caught.value)
    assert said.startswith("rod: ")
    assert "\n" not in said
    assert len(said) < 250
    assert caught.value.do


@given(st.text(max_size=100))
def test_any_text_is_read_or_refused(text):
    for parse in (units.parse_length, units.parse_mass, units.parse_angle, units.parse_count):
        try:
            value = parse(text)
        except BadValue as fault:
            assert "\n" not in str(fault)
        else:
            assert -1e10 < value < 1e10
    try:
        assert 0.2 <= units.parse_wire(text).wire_mm <= 10
    except BadValue as fault:
        assert "\n" not in str(fault)


def test_a_margin_may_be_below_zero():
    assert units.parse_length("−3 mm", signed=True) == -3.0
    assert units.parse_length("-1/8", default="in", signed=True) == -3.175


def test_the_default_unit_is_only_a_default():
    assert units.parse_length("2", default="in") == 50.8
    assert units.parse_length("2 mm", default="in") == 2.0


@given(st.floats(-1e6, 1e6), st.integers(0, 4))
def test_a_length_in_mm_reads_back(mm, places):
    shown = units.format_length(mm, "mm", places)
    assert abs(units.parse_length(shown, signed=True) - mm) <= 0.5 * 10**-places + 1e-9


@given(st.floats(-1e5, 1e5))
def test_a_length_in_inches_reads_back(mm):
    shown = units.format_length(mm, "in")
    assert abs(units.parse_length(shown, default="mm", signed=True) - mm) <= 0.0128


@given(st.integers(-64 * 100, 64 * 100))
def test_sixty_fourths_are_shown_as_fractions_and_read_back_exactly(parts):
    mm = parts * 25.4 / 64
    shown = units.format_length(mm, "in")
    assert "." not in shown
    assert units.parse_length(shown, signed=True) == pytest.approx(mm, abs=1e-9)


@given(st.floats(1e-2, 1e7))
def test_masses_wire_lengths_and_shown_precision(value):
    assert units.parse_mass(units.format_mass(value)) == pytest.approx(value, rel=0.0051)
    assert units.parse_mass(units.format_mass(value, "in")) == pytest.approx(value, rel=0.0051)
    for unit in ("mm", "in"):
        # Below 1 ft the last of six decimals is what counts.
        shown = units.format_wire_length(value, unit)
        assert units.parse_length(shown) == pytest.approx(value, rel=0.0051, abs=2e-4)


@given(st.floats(-720, 720))
def test_angles_read_back(deg):
    assert units.parse_angle(units.format_angle(deg)) == pytest.approx(deg, abs=0.0501)


@given(st.integers(0, 10**9))
def test_counts_read_back(n):
    assert units.parse_count(units.format_count(n)) == n


@pytest.mark.parametrize("text", ["", "2.5", "-1", "many", "1e3", "101"])
def test_what_is_no_count_is_refused(text):
    with pytest.raises(BadValue, match="from 0 to 100"):
        units.parse_count(text, 0, 100)


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (units.format_length(1.6), "1.60 mm"),
        (units.format_length(-1.6), "−1.60 mm"),
        (units.format_length(-0.001), "0.00 mm"),
        (units.format_length(22.225, "in"), "7/8 in"),
        (units.format_length(-38.1, "in"), "−1 1/2 in"),
        (units.format_length(203.2, "in"), "8 in"),
        (units.format_length(0.0, "in"), "0 in"),
        (units.format_length(1.6, "in"), "0.063 in"),
        (units.format_mass(0.16512), "0.165 g"),
        (units.format_mass(290.3), "290 g"),
        (units.format_mass(999.7), "1.00 kg"),
        (units.format_mass(3472), "3.47 kg"),
        (units.format_mass(9.996), "10.0 g"),
        (units.format_mass(9.96), "9.96 g"),
        (units.format_mass(0), "0 g"),
        (units.format_wire_length(31.0, "in"), "1.22 in"),
        (units.format_wire_length(32_004, "in"), "105 ft"),
        (units.format_mass(28.349523125, "in"), "1.00 oz"),
        (units.format_mass(453.59237, "in"), "1.00 lb"),
        (units.format_mass(3472, "in"), "7.65 lb"),
        (units.format_wire_length(31_900), "31.9 m"),
        (units.format_wire_length(31_900, "in"), "105 ft"),
        (units.format_wire_length(310), "310 mm"),
        (units.format_area(41_200), "412 cm²"),
        (units.format_area(1_200_000), "1.20 m²"),
        (units.format_area(41_200, "in"), "63.9 in²"),
        (units.format_area(1_200_000, "in"), "12.9 ft²"),
        (units.format_hours(0.75), "45 min"),
        (units.format_hours(0.999), "1.0 h"),
        (units.format_hours(4.5), "4.5 h"),
        (units.format_hours(31.4), "31 h"),
        (units.format_angle(-17.5), "−17.5°"),
        (units.format_count(9527), "9527"),
        (units.format_count(123456), "123 456"),
    ],
)
def test_numbers_as_shown(shown, expected):
    assert re.sub("[\u00a0\u202f]", " ", shown) == expected
    # No ordinary space: a number and its unit are never parted at a line's end.
    assert " " not in shown


@pytest.mark.parametrize(
    ("text", "mm", "label"),
    [
        ("16 ga US steel", 1.5875, "16 ga US steel"),
        ("16ga us-steel", 1.5875, "16 ga US steel"),
        ("#16 Washburn & Moen", 1.5875, "16 ga US steel"),
        ("no. 16 US SWG", 1.5875, "16 ga US steel"),
        ("20 ga imperial", 0.9144, "20 ga Imperial"),
        ("16 swg imperial", 1.6256, "16 ga Imperial"),
        ("18 awg", 1.0237, "18 AWG"),
        ("AWG18", 1.0237, "18 AWG"),
        ("16 Birmingham wire gauge", 1.651, "16 BWG"),
        ("1.6 mm", 1.6, ""),
        ("1.6", 1.6, ""),
        ("0.0625 in", 1.5875, ""),
        ("1/16 in", 1.5875, ""),
    ],
)
def test_wires_are_read(text, mm, label):
    found = units.parse_wire(text)
    assert found.wire_mm == pytest.approx(mm, abs=5e-5)
    assert found.label == label


@pytest.mark.parametrize("text", ["16", "#16", "16 ga", "16 gauge steel", "no. 16", "16 ga US"])
def test_a_gauge_without_its_system_is_refused_with_the_four_wires(text):
    with pytest.raises(BadValue) as caught:
        units.parse_wire(text)
    said = str(caught.value).replace("\u00a0", " ")
    for wire_shown in ("AWG 1.29 mm", "US steel 1.59 mm", "Imperial 1.63 mm", "BWG 1.65 mm"):
        assert wire_shown in said


def test_swg_alone_is_refused_as_two_systems():
    with pytest.raises(BadValue, match="two systems") as caught:
        units.parse_wire("16 swg")
    assert "AWG" not in str(caught.value)


@pytest.mark.parametrize("text", ["", "99", "40 awg", "2/0 awg", "1.6 awg", "30 mm", "5 kg", "16."])
def test_what_is_no_wire_is_refused(text):
    with pytest.raises(BadValue) as caught:
        units.parse_wire(text)
    assert "\n" not in str(caught.value)


@given(st.sampled_from(wire.GAUGE_SYSTEMS), st.integers(3, 31), st.sampled_from(["mm", "in"]))
def test_a_gauge_as_shown_reads_back(system, number, unit):
    mm, label = wire.gauge_mm(system, number), wire.gauge_label(system, number)
    for text in (label, units.format_wire(mm, label, unit)):
        assert units.parse_wire(text) == units.WireText(mm, label)


def test_a_gauge_and_a_diameter_that_differ_are_refused():
    with pytest.raises(BadValue, match="two different diameters"):
        units.parse_wire("1.29 mm (16 ga US steel)")


def test_everyday_text_does_not_load_pint():
    code = (
        "import sys; from core import units;"
        "units.parse_length('7/8 in'); units.parse_wire('1.6 mm'); units.parse_mass('2 kg');"
        "units.parse_wire('16 ga US steel'); assert 'pint' not in sys.modules;"
        "units.parse_length('20 thou'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
