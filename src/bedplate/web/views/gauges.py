"""The gauges of a build."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.quantity import Units
from bedplate.record.entries import Typed
from bedplate.shop.model import GaugeState, State
from bedplate.web.views.common import both, fine, length, other


@dataclass(frozen=True, slots=True)
class GaugeView:
    """A gauge, ready to be printed."""

    id: str
    name: str
    kind: str
    comparator: bool
    reads_in: str
    resolution: str
    expanded: str
    coverage: str
    repeatability: str
    bias: str
    calibrated: str
    due: str
    overdue: bool
    source: str
    setting: str
    setting_size: str
    drift: str
    readings: int


def gauge_views(state: State) -> tuple[GaugeView, ...]:
    """Return every gauge, those with most readings first."""
    views = [_view(held, state.units) for held in state.gauges.values()]
    return tuple(sorted(views, key=lambda v: (-v.readings, v.id)))


def _typed(value: Typed | None, units: Units) -> str:
    return "" if value is None else f"{value.text} ({fine(value.si, other(units))})"


def _view(held: GaugeState, units: Units) -> GaugeView:
    gauge, setting = held.gauge, ""
    if held.setting is not None:
        on = held.setting.on_gauge or held.setting.master or "a master"
        setting = f"{both(held.setting.size.si, units)} ({on}, entry {held.setting_number})"
    return GaugeView(
        id=gauge.gauge,
        name=gauge.name or gauge.gauge,
        kind=gauge.gauge_kind,
        comparator=gauge.comparator,
        reads_in=gauge.reads_in,
        resolution=_typed(gauge.resolution, units),
        expanded=_typed(gauge.expanded_uncertainty, units),
        coverage=f"{gauge.coverage:g}",
        repeatability=_typed(gauge.repeatability, units),
        bias=_typed(gauge.bias, units),
        calibrated=gauge.calibrated,
        due=gauge.due,
        overdue=held.overdue,
        source=gauge.source,
        setting=setting,
        setting_size="" if held.setting is None else length(held.setting.size.si, units),
        drift="" if held.drift is None else fine(held.drift, units),
        readings=held.readings,
    )
