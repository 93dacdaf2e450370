"""The program's version, the one place that states it."""

from __future__ import annotations

VERSION = "0.1.0"
