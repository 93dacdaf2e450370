"""European 4-in-1 drawn along, in closed form: where its rings touch, and why it is longest.

Lengths in wire diameters, A the aspect ratio, R = (A + 1)/2. Drawn along, rings of one column
touch in their common plane, so across = R + 1/2 = (A + 2)/2. What is left is the linked pair: the
ring at (0, 0) leaning +t, points (u c, w, u s) with u² + w² = R², c = cos t, s = sin t; and the
ring at (along/2, across) leaning -t, points (along/2 + u' c, across + w', -u' s). The longest pitch
is where, for the vector n from one touching point to the other,

    |n| = 1                                          the rings just touch,
    -w (c nx + s nz) + u ny = 0                      n stands square on the first ring,
    -w' (c nx - s nz) + u' ny = 0                    and on the second,
    -s nx (u - u') + c nz (u + u') = 0               and leaning on opens no gap.

Eliminating gives sin² t = 2/(A + 4), along² = 3A(A² - 4)/(A + 4), and w and -w' as the two roots of

    D x² - A (A + 1)² (A + 4) x + (A + 1)² (A³ + 2A² + 16A + 24)/8 = 0,  D = 2A³ + 7A² + 2A - 12.

Put into the four conditions these hold for more aspect ratios, to more digits, than polynomials of
their degree could hold by chance. That no sheet is longer the solver and its searches tell.
"""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest

from core.weave.lay import Lay, solve_lay

DIGITS = 60
THIRD_CONTACT_BELOW = 2.996
"""Nearer the limit rings of a row come to touch, too, before this contact is reached."""


def conditions(aspect, stretch=1):
    """What is left of each of the four conditions, in long decimals, the pitch stretched."""
    a = Decimal(aspect)
    radius, across = (a + 1) / 2, (a + 2) / 2
    sin2 = 2 / (a + 4)
    s, c = sin2.sqrt(), (1 - sin2).sqrt()
    along = stretch * (3 * a * (a * a - 4) / (a + 4)).sqrt()
    d = 2 * a**3 + 7 * a**2 + 2 * a - 12
    total = a * (a + 1) ** 2 * (a + 4) / d
    product = (a + 1) ** 2 * (a**3 + 2 * a**2 + 16 * a + 24) / (8 * d)
    spread = (total**2 - 4 * product).sqrt()
    w, w2 = (total - spread) / 2, -(total + spread) / 2
    u, u2 = (radius**2 - w**2).sqrt(), -((radius**2 - w2**2).sqrt())
    n = (along / 2 + u2 * c - u * c, across + w2 - w, -(u + u2) * s)
    return (
        n[0] ** 2 + n[1] ** 2 + n[2] ** 2 - 1,
        -w * (c * n[0] + s * n[2]) + u * n[1],
        -w2 * (c * n[0] - s * n[2]) + u2 * n[1],
        -s * n[0] * (u - u2) + c * n[2] * (u + u2),
    )


@pytest.mark.parametrize("start", [3, 20, 40])
def test_the_touching_points_meet_every_condition_to_fifty_digits(start):
    with localcontext() as context:
        context.prec = DIGITS
        for twentieth in range(20 * start, 20 * (start + 20), 7):
            left = conditions(Decimal(twentieth) / 20)
            assert all(abs(value) < Decimal(10) ** -50 for value in left), twentieth / 20


def test_a_pitch_a_part_in_a_million_longer_does_not():
    with localcontext() as context:
        context.prec = DIGITS
        gap, *_square = conditions(Decimal(5), stretch=Decimal("1.000001"))
        assert abs(gap) > Decimal(10) ** -7


@pytest.mark.parametrize("aspect", [3.0, 3.5, 5.0, 8.0, 20.0])
def test_the_solved_sheet_is_that_one(aspect):
    assert aspect > THIRD_CONTACT_BELOW
    sheet = solve_lay("european-4-in-1", 1.0, aspect, Lay("along"))
    along = (3 * aspect * (aspect**2 - 4) / (aspect + 4)) ** 0.5
    assert sheet.along_mm == pytest.approx(along, rel=1e-6)
    assert sheet.across_mm == pytest.approx((aspect + 2) / 2, rel=1e-6)
