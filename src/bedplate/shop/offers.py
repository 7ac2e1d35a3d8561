"""What is offered where a builder has no figure of his own: marked, and never silently used."""

from __future__ import annotations

from dataclasses import dataclass


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


GAUGE_OFFERS: dict[str, GaugeOffer] = {
    offer.kind: offer
    for offer in (
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
}
"""By kind of gauge. A kind outside it can be registered too, with all its figures."""
