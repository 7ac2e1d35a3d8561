"""Builds to try the pages on."""

from __future__ import annotations

from bedplate.engine import examples
from bedplate.workshop import Workshop

BY = "Ann (invented)"


def start(workshop: Workshop, example: str = "in-line-four-frame", build: str = "kestrel") -> str:
    """Start a build with a micrometer and a bore gauge, nothing measured yet."""
    workshop.start(examples()[example], by=BY, build=build)
    workshop.register_gauge(
        build, "mic", by=BY, gauge_kind="outside micrometer", resolution="0.001 mm",
        expanded_uncertainty="0.002 mm", repeatability="0.0006 mm", reads_in="mm",
    )  # fmt: skip
    workshop.register_gauge(
        build, "bore", by=BY, gauge_kind="bore gauge", resolution="0.001 mm",
        expanded_uncertainty="0.0010 mm", repeatability="0.0006 mm", reads_in="mm",
        comparator=True,
    )  # fmt: skip
    return build
