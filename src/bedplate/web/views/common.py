"""How values are put on every page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from bedplate.documents import band
from bedplate.documents.looks import mark_of, words_of
from bedplate.documents.marks import Mark, picture
from bedplate.metrology.results import Verdict
from bedplate.quantity import Dimension, Units, show, show_both, show_range
from bedplate.shop.model import FitState
from bedplate.shop.sentences import remarks

DASH = "—"


def length(value: float | None, units: Units, uncertainty: float | None = None) -> str:
    """Return a length in the builder's units, a dash where there is none."""
    if value is None:
        return DASH
    return show(value, Dimension.LENGTH, units, uncertainty=uncertainty)


def both(value: float | None, units: Units, uncertainty: float | None = None) -> str:
    """Return a length in the builder's units and the others."""
    if value is None:
        return DASH
    return show_both(value, Dimension.LENGTH, units, uncertainty=uncertainty)


def fine(value: float | None, units: Units) -> str:
    """Return an uncertainty, a resolution or another small length, in digits that say something."""
    if value is None:
        return DASH
    if units is Units.METRIC and abs(value) < 1e-4:
        return show(value, Dimension.LENGTH, units, uncertainty=abs(value) or None, unit="µm")
    return show(value, Dimension.LENGTH, units, uncertainty=abs(value) or None)


def other(units: Units) -> Units:
    """Return the units that the builder does not think in."""
    return Units.INCH if units is Units.METRIC else Units.METRIC


def limits(low: float | None, high: float | None, units: Units) -> str:
    """Return limits in the builder's units."""
    return show_range(low, high, Dimension.LENGTH, units)


def when(at: str) -> str:
    """Return a time as it was on the clock of this machine."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return at
    return moment.astimezone().strftime("%Y-%m-%d %H:%M")


def mark(given: FitState | Mark | Verdict, *, described: bool = True) -> Markup:
    """Return the picture of a verdict."""
    if isinstance(given, FitState):
        given = mark_of(given)
    elif isinstance(given, Verdict):
        given = Mark(given)
    return Markup(picture(given, described=described))  # noqa: S704 - our own drawing


@dataclass(frozen=True, slots=True)
class FitView:
    """A fit, ready to be printed."""

    id: str
    name: str
    kind: str
    gate: str
    verdict: str
    words: str
    mark: Markup
    band: Markup
    value: str
    value_other: str
    extent: str
    expanded: str
    limits: str
    limits_other: str
    target: str
    source: str
    condition: str
    formula: str
    remarks: tuple[str, ...]
    accepted: str
    measured: bool


def fit_view(fit: FitState, units: Units, *, slim: bool = False) -> FitView:
    """Return a fit, ready to be printed.

    :param slim: its band without texts, for a row under a head that gives the limits
    """
    draw = band.draw_slim if slim else band.draw
    shown = mark_of(fit)
    value = length(fit.value, units, fit.expanded)
    extent = (
        ""
        if fit.least is None or fit.greatest is None or fit.least == fit.greatest
        else f"{length(fit.least, units)} to {length(fit.greatest, units)}"
    )
    target = fit.fit.target
    return FitView(
        id=fit.fit.id,
        name=fit.fit.name,
        kind=fit.fit.kind,
        gate=str(fit.fit.gate),
        verdict=fit.verdict.value.replace(" ", "-"),
        words=words_of(fit),
        mark=mark(shown, described=False),
        band=Markup(draw(_band(fit, units, shown))),  # noqa: S704 - our own drawing
        value=value,
        value_other=length(fit.value, other(units), fit.expanded),
        extent=extent,
        expanded="" if fit.expanded is None else fine(fit.expanded, units),
        limits=limits(fit.low, fit.high, units),
        limits_other=limits(fit.low, fit.high, other(units)),
        target="" if target is None else both(target.value, units),
        source=fit.fit.source,
        condition=fit.fit.condition,
        formula=fit.fit.formula,
        remarks=remarks(fit),
        accepted=fit.accepted,
        measured=fit.value is not None,
    )


def _band(fit: FitState, units: Units, shown: Mark) -> band.Band:
    def texts(limit: float | None) -> tuple[str, str]:
        return ("", "") if limit is None else (length(limit, units), length(limit, other(units)))

    low_whisker = high_whisker = None
    if fit.least is not None and fit.greatest is not None:
        low_whisker = fit.least - (fit.expanded_least or fit.expanded or 0.0)
        high_whisker = fit.greatest + (fit.expanded_greatest or fit.expanded or 0.0)
    words = f"{fit.fit.name}: {shown.words}; limits {limits(fit.low, fit.high, units)}"
    if fit.value is not None:
        words += f", value {length(fit.value, units, fit.expanded)}"
    return band.Band(
        low=fit.low,
        high=fit.high,
        least=fit.least,
        value=fit.value,
        greatest=fit.greatest,
        whisker_low=low_whisker,
        whisker_high=high_whisker,
        target=None if fit.fit.target is None else fit.fit.target.value,
        low_text=texts(fit.low),
        high_text=texts(fit.high),
        verdict=fit.verdict.value.replace(" ", "-"),
        name=words,
    )
