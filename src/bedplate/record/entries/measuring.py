"""Gauges, their settings and their readings."""

from __future__ import annotations

from bedplate.record.entries.entry import Entry, Typed


class GaugeRegistered(Entry, frozen=True, tag="gauge registered"):
    """A gauge as this build knows it; a later entry for the same gauge replaces it from there on.

    :param gauge: short id, 'mic-50-75'
    :param gauge_kind: 'outside micrometer', 'bore gauge', ... (VIM: measuring instrument)
    :param comparator: True if it shows a deviation from a setting
    :param reads_in: unit of a bare number it sends or shows, 'mm'; '' if the unit must be typed
    :param bias: error of indication (VIM 4.20), indication less true value
    :param expanded_uncertainty: of its indication, from calibration, common to all its readings
    :param coverage: k of that expanded uncertainty
    :param repeatability: standard deviation of one reading in these hands
    :param dial_turn: indication of one turn of the dial or thimble, for doubts
    :param source: where uncertainty and repeatability come from
    """

    gauge: str
    name: str
    gauge_kind: str
    comparator: bool
    resolution: Typed
    expanded_uncertainty: Typed
    repeatability: Typed
    reads_in: str = ""
    bias: Typed | None = None
    coverage: float = 2.0
    dial_turn: Typed | None = None
    expansion: Typed | None = None
    calibrated: str = ""
    due: str = ""
    source: str = ""


class ComparatorSet(Entry, frozen=True, tag="comparator set"):
    """A comparator zeroed on a master, or between the anvils of another gauge.

    :param size: size of the master, or what the other gauge showed
    :param on_gauge: id of the other gauge; '' for a master
    :param size_uncertainty: expanded (k = 2), of a master; None with another gauge
    :param found: what it showed on that same size before it was set again: the drift
    """

    gauge: str
    size: Typed
    on_gauge: str = ""
    master: str = ""
    size_uncertainty: Typed | None = None
    found: Typed | None = None
    temperature: Typed | None = None


class Reading(Entry, frozen=True, tag="reading"):
    """One value typed or sent by a gauge at a station.

    :param value: the indication; with a comparator the deviation from its setting, + is bigger
    :param setting: id of the `comparator set` entry it rests on; '' for an absolute gauge
    :param condition: state of the parts when it was taken, in the engine file's words
    """

    feature: str
    station: str
    gauge: str
    value: Typed
    setting: str = ""
    part_temperature: Typed | None = None
    gauge_temperature: Typed | None = None
    condition: str = ""


class TraceTaken(Entry, frozen=True, tag="pressure trace taken"):
    """Cylinder pressure as it was measured over a cycle.

    Again for the same speed and cylinder it replaces the one before.

    :param points: CSV text: a row that names both columns with their units, then a row a point
    :param cylinder: label of the cylinder it was measured in, '' where it stands for all
    :param firing: angle in it at which firing top dead centre lies; None: 0
    :param pegged_to: absolute pressure about bottom dead centre before compression; None: the trace
        is absolute
    :param source: who measured it, with what
    """

    speed: Typed
    points: str
    cylinder: str = ""
    firing: Typed | None = None
    pegged_to: Typed | None = None
    source: str = ""
