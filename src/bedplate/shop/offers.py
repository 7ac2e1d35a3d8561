"""What is offered where a builder has no figure of his own: marked, and never silently used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bedplate.quantity import Units


@dataclass(frozen=True, slots=True)
class GaugeOffer:
    """Usual figures of a kind of gauge in good hands, part and gauge at one temperature.

    Common practice, no source: what careful bench users claim, to be replaced by the figures of the
    calibration sheet.

    :param comparator: it shows a deviation from a setting
    :param expanded_uncertainty: of the indication, k = 2
    :param repeatability: standard deviation of one reading
    """

    kind: str
    comparator: bool
    resolution: str
    expanded_uncertainty: str
    repeatability: str
    dial_turn: str = ""


_METRIC = (
    GaugeOffer("outside micrometer", False, "0.001 mm", "0.003 mm", "0.0012 mm", "0.5 mm"),
    GaugeOffer("inside micrometer", False, "0.01 mm", "0.008 mm", "0.004 mm", "0.5 mm"),
    GaugeOffer("ball micrometer", False, "0.001 mm", "0.003 mm", "0.0012 mm", "0.5 mm"),
    GaugeOffer("bore gauge", True, "0.001 mm", "0.0015 mm", "0.0012 mm", "0.1 mm"),
    GaugeOffer("dial indicator", False, "0.01 mm", "0.008 mm", "0.004 mm", "1 mm"),
    GaugeOffer("feeler gauge", False, "0.02 mm", "0.013 mm", "0.006 mm"),
    GaugeOffer("depth gauge", False, "0.01 mm", "0.013 mm", "0.006 mm", "0.5 mm"),
    GaugeOffer("height gauge", False, "0.01 mm", "0.02 mm", "0.01 mm"),
    GaugeOffer("calliper", False, "0.01 mm", "0.03 mm", "0.015 mm"),
)

# Steps and turns as inch gauges have them; uncertainties those of the metric gauge, in inches.
_INCH = (
    GaugeOffer("outside micrometer", False, "0.0001 in", "0.00012 in", "0.00005 in", "0.025 in"),
    GaugeOffer("inside micrometer", False, "0.001 in", "0.0003 in", "0.00016 in", "0.025 in"),
    GaugeOffer("ball micrometer", False, "0.0001 in", "0.00012 in", "0.00005 in", "0.025 in"),
    GaugeOffer("bore gauge", True, "0.0001 in", "0.00006 in", "0.00005 in", "0.01 in"),
    GaugeOffer("dial indicator", False, "0.0005 in", "0.0003 in", "0.00016 in", "0.05 in"),
    GaugeOffer("feeler gauge", False, "0.001 in", "0.0005 in", "0.00025 in"),
    GaugeOffer("depth gauge", False, "0.001 in", "0.0005 in", "0.00025 in", "0.025 in"),
    GaugeOffer("height gauge", False, "0.0005 in", "0.0008 in", "0.0004 in"),
    GaugeOffer("calliper", False, "0.0005 in", "0.0012 in", "0.0006 in"),
)

_BY_UNITS = {
    units: {offer.kind: offer for offer in offers}
    for units, offers in ((Units.METRIC, _METRIC), (Units.INCH, _INCH))
}


def gauge_offers(units: Units) -> Mapping[str, GaugeOffer]:
    """Return what is offered for gauges that read in the units of a build, by kind of gauge.

    A kind outside them can be registered too, with all its figures.
    """
    return _BY_UNITS[units]
