"""Whether a sheet without symmetry beats the spread sheet, and how long a look-up takes.

Run: ``python -m tests.bench.bench_weaves [--starts N] [WEAVE ...]``. Per weave and at three aspect
ratios it prints the most area that a free search finds, as a share of the spread sheet's: 1 says
that nothing better was found. Times are medians; beside them is one fresh sum of contacts.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np

from core.weave.cells import EUROPEAN_4_IN_1, WEAVES
from core.weave.contact import clearance
from core.weave.families import family_of
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.solve import equal_rings
from tests.bench.free_sheets import best_free, bound, twice

ABOVE_LIMIT = (1.1, 1.4, 2.0)
LOOK_UPS = ("laid", "spread", "along", "across", "held")


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def search(weave_id: str, starts: int) -> bool:
    """Print what a free search finds; whether nothing beats the spread sheet."""
    fine = True
    for times in ABOVE_LIMIT:
        aspect = limit_aspect_ratio(weave_id) * times
        spread = solve_lay(weave_id, 1.0, aspect, Lay("spread")).unknowns
        cells = [WEAVES[weave_id]]
        if weave_id == EUROPEAN_4_IN_1.id:
            cells.append(twice(EUROPEAN_4_IN_1))
        for weave in cells:
            best, reached = best_free(weave, spread, aspect, starts)
            fine &= reached > 0 and best <= 1.0002
            rings = len(weave.courses) * weave.plies
            line = f"{weave_id:20} {aspect:6.3f}  {rings} rings free: {best:.6f} of spread"
            line += f" ({reached} sheets from {starts} starts)"
            if weave.family == "flat and upright":
                most = bound(weave, equal_rings(weave, aspect))
                line += f"; the links allow {most / (spread[0] * spread[1]):.6f}"
            say(line)
    return fine


def median_ms(call: Callable[[int], object], count: int = 60) -> float:
    """The median time of a call, ms."""
    spent = []
    for i in range(count):
        begin = time.perf_counter()
        call(i)
        spent.append(time.perf_counter() - begin)
    return 1000 * statistics.median(spent)


def look_ups(weave_id: str) -> None:
    """Print how long each lay takes to look up, never the same ring twice."""
    weave, low = WEAVES[weave_id], limit_aspect_ratio(weave_id)
    aspects = np.linspace(low * 1.05, low * 3, 60)
    solve_lay.cache_clear()
    sheet = np.array(solve_lay(weave_id, 1.0, low * 1.5, Lay("spread")).unknowns)
    rings = equal_rings(weave, low * 1.5)
    rival = median_ms(lambda _i: clearance(weave, family_of(weave), sheet, rings), 20)
    line = [f"{weave_id:20} contacts {rival:7.3f} ms; look-up"]
    for kind in LOOK_UPS:
        lay = Lay(kind, width_percent=99.0 if kind == "held" else None)
        solve_lay.cache_clear()
        took = median_ms(lambda i, lay=lay: solve_lay(weave_id, 1.0, float(aspects[i]), lay))
        line.append(f"{kind} {took:.4f} ms (1/{rival / took:.0f})")
    say("  ".join(line))


def main() -> int:
    """Run it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("weaves", nargs="*", metavar="WEAVE", help="which (all)")
    parser.add_argument("--starts", type=int, default=7, help="shaken starts per sheet")
    parser.add_argument("--times", action="store_true", help="only the times")
    args = parser.parse_args()
    fine = True
    wanted = args.weaves or list(WEAVES)
    for weave_id in wanted:
        look_ups(weave_id)
    for weave_id in () if args.times else wanted:
        fine &= search(weave_id, args.starts)
    return 0 if fine else 1


if __name__ == "__main__":
    raise SystemExit(main())
