"""The pages of the build book that say what the readings give: fits, forms, uncertainty."""

from __future__ import annotations

from math import hypot

from uncertainties.core import AffineScalarFunc

from bedplate.documents import paper
from bedplate.documents.form_picture import Form, exaggeration, form_of, form_picture
from bedplate.documents.looks import mark_of
from bedplate.documents.marks import Mark
from bedplate.documents.paper import Tree, both, both_range
from bedplate.engine.fits import Gate
from bedplate.engine.model import Feature, Fit
from bedplate.metrology import Contribution, Verdict
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.model import FeatureState, FitState, State
from bedplate.shop.sentences import remarks
from bedplate.wording import capital

_BUDGETS = 6
_LINES = 9


def fit_pages(state: State) -> list[Tree]:
    """Return the fits by gate, and within a gate those that share kind, condition and source."""
    gates = []
    for gate in Gate:
        groups: dict[tuple[str, str, str, str], list[FitState]] = {}
        for fit in state.fits.values():
            if fit.fit.gate is gate:
                key = (fit.fit.kind, fit.fit.formula, fit.fit.condition, fit.fit.source)
                groups.setdefault(key, []).append(fit)
        if groups:
            gates.append(
                {"gate": gate.value, "groups": [_group(g, state) for g in groups.values()]}
            )
    return gates


def _group(fits: list[FitState], state: State) -> Tree:
    first = fits[0].fit
    title = first.name.removesuffix(first.number).strip() or first.kind
    return {
        "title": capital(title),
        "formula": first.formula,
        "condition": first.condition or "no condition stated",
        "source": first.source,
        "limits": _limits_by_direction(fits[0], state),
        "rows": [_row(fit, state) for fit in fits if not _blank(fit)] + _blank_rows(fits, state),
    }


def _blank(fit: FitState) -> bool:
    """Tell whether nothing at all is known of a fit."""
    return fit.value is None and not (fit.stale or fit.accepted or fit.lapsed)


def _blank_rows(fits: list[FitState], state: State) -> list[Tree]:
    """Return the fits of which nothing is known, those of the same limits in one row."""
    alike: dict[str, list[FitState]] = {}
    for fit in fits:
        if _blank(fit):
            row = _row(fit, state)
            alike.setdefault(f"{row['limits']} {row['target']}", []).append(fit)
    return [
        {
            **_row(held[0], state),
            "name": together([_short_name(fit) for fit in held]),
            "note": "missing: " + missing(held, state),
        }
        for held in alike.values()
    ]


def together(names: list[str]) -> str:
    """Return names that differ in their number as one: 'crankpin 1, 2, 3'."""
    words = [name.rpartition(" ") for name in names]
    if len(names) > 1 and len({head for head, _, _ in words}) == 1 and words[0][0]:
        return f"{words[0][0]} {', '.join(last for _, _, last in words)}"
    return ", ".join(names)


def without_number(named: Feature | Fit) -> str:
    """Return the name that all of its like share: 'Main journal'."""
    return named.name.removesuffix(named.number).rstrip()


def missing(fits: list[FitState], state: State) -> str:
    """Return the features that fits wait for, those of a kind together."""
    kinds: dict[str, list[str]] = {}
    for name in dict.fromkeys(name for fit in fits for name in fit.missing):
        feature = state.features[name].feature
        kinds.setdefault(without_number(feature), []).append(feature.name)
    return "; ".join(together(sorted(names, key=len)) for names in kinds.values())


def _limits_by_direction(fit: FitState, state: State) -> str:
    """Return in words which limits hold where, '' where the same ones hold everywhere."""
    if len(fit.fit.limits) < 2:
        return ""
    parts = []
    for limit in fit.fit.limits:
        shown = " = ".join(both_range(limit.range.low, limit.range.high, state.units))
        parts.append(f"{paper.within(limit, state.units).strip() or 'elsewhere'} {shown}")
    return "limits " + ", ".join(parts) + "; those that decide stand in the table"


def mark_name(mark: Mark) -> str:
    """Return the name under which the template finds a mark."""
    side = "below" if mark.below else "above"
    return f"{mark.verdict.value} {side}{' stale' if mark.stale else ''}"


def _row(fit: FitState, state: State) -> Tree:
    units = state.units
    target = fit.fit.target
    return {
        "mark": mark_name(mark_of(fit)),
        "name": _short_name(fit),
        "limits": both_range(fit.low, fit.high, units),
        "target": both(None if target is None else target.value, units),
        "least": both(fit.least, units, uncertainty=fit.expanded_least),
        "mean": both(fit.value, units, uncertainty=fit.expanded),
        "greatest": both(fit.greatest, units, uncertainty=fit.expanded_greatest),
        "expanded": both(fit.expanded, units, uncertainty=fit.expanded),
        "verdict": fit.verdict.value,
        "note": _note(fit, state),
    }


def _short_name(fit: FitState) -> str:
    number, per = fit.fit.number, fit.fit.per.value
    return f"{per} {number}" if number and fit.fit.name.endswith(number) else fit.fit.name


def _note(fit: FitState, state: State) -> str:
    notes = list(remarks(fit))
    if fit.verdict is Verdict.NOT_MEASURED and fit.missing:
        names = ", ".join(state.features[name].feature.name for name in fit.missing)
        notes.append(f"{'missing' if fit.value is None else 'not complete'}: {names}")
    if fit.eccentricity is not None:
        unsure = fit.expanded
        shown = _first(fit.eccentricity, state.units, unsure, small=True)
        notes.append(f"at the crown less at the sides {shown}")
    if fit.way:
        way = fit.fit.ways[fit.way]
        kinds = (state.features[name].feature.kind for name in (way.space, *way.bodies))
        notes.append("worked out as " + " − ".join(kinds))
    return " · ".join(note for note in notes if note)


def form_pages(state: State) -> list[Tree]:
    """Return the form pictures by kind of feature, each kind at one exaggeration."""
    kinds: dict[str, list[tuple[FeatureState, Form]]] = {}
    for feature in state.features.values():
        form = form_of(feature)
        if form is not None and len(form.directions) > 1:
            kinds.setdefault(feature.feature.kind, []).append((feature, form))
    pages = []
    for kind, known in kinds.items():
        factor = exaggeration(form for _, form in known)
        pages.append(
            {
                "title": capital(kind),
                "factor": f"{factor:g}",
                "forms": [_form(feature, form, factor, state) for feature, form in known],
            }
        )
    return pages


def _form(feature: FeatureState, form: Form, factor: float, state: State) -> Tree:
    units = state.units
    size = feature.size
    alt = f"Form of {form.name}, drawn {factor:g} times too large; its values stand beneath."
    return {
        "name": form.name,
        "picture": paper.drawing(form_picture(form, factor), alt),
        "directions": [name or "–" for name, _ in form.directions],
        "rows": [
            [
                name or "–",
                *(
                    _first(form.diameters.get((row, column)), units, feature.expanded)
                    for column in range(len(form.directions))
                ),
            ]
            for row, (name, _) in enumerate(form.sections)
        ],
        "mean": " = ".join(both(form.mean, units, uncertainty=feature.expanded)),
        "expanded": _first(feature.expanded, units, feature.expanded, small=True),
        "out_of_round": _form_value(
            size.out_of_round if size else None, feature.expanded_out_of_round, units
        ),
        "taper": _form_value(size.taper if size else None, feature.expanded_taper, units),
        "stale": feature.stale,
        "reduction": ""
        if feature.reduction is None
        else _first(feature.reduction, units, feature.expanded, small=True),
        "reduced": state.engine.measuring.reduce,
        "wear": "" if feature.wear is None else _first(feature.wear, units, None, small=True),
    }


def _form_value(value: AffineScalarFunc | None, expanded: float | None, units: Units) -> str:
    """Return a departure from form with its expanded uncertainty."""
    if value is None:
        return "–"
    departure = _first(float(value.nominal_value), units, expanded, small=True)
    return f"{departure} ± {_first(expanded, units, expanded, small=True)}"


def _first(
    value: float | None, units: Units, uncertainty: float | None, *, small: bool = False
) -> str:
    if value is None:
        return "–"
    unit = ("µm" if units is Units.METRIC else "thou") if small else ""
    return show(value, Dimension.LENGTH, units, uncertainty=uncertainty, unit=unit)


def budgets(state: State) -> list[Tree]:
    """Return the uncertainty budgets of the fits nearest a limit, one of each kind."""
    nearest: dict[str, FitState] = {}
    for fit in sorted(state.fits.values(), key=lambda fit: fit.room):
        if fit.budget:
            nearest.setdefault(fit.fit.kind, fit)
    return [_budget(fit, state) for fit in list(nearest.values())[:_BUDGETS]]


def _budget(fit: FitState, state: State) -> Tree:
    largest = max(abs(line.amount) for line in fit.budget) or 1.0
    whole = len(fit.budget) <= _LINES + 1
    shown, rest = (fit.budget, ()) if whole else (fit.budget[:_LINES], fit.budget[_LINES:])
    lines = [_line(line, largest) for line in shown]
    if rest:
        together = hypot(*(line.amount for line in rest))
        lines.append(_line(Contribution(f"{len(rest)} smaller ones together", together), largest))
    return {
        "mark": mark_name(mark_of(fit)),
        "name": fit.fit.name,
        "mean": " = ".join(both(fit.value, state.units, uncertainty=fit.expanded)),
        "limits": " = ".join(both_range(fit.low, fit.high, state.units)),
        "lines": lines,
        "combined": _both_small(fit.standard_uncertainty or 0.0),
        "expanded": _both_small(fit.expanded or 0.0),
        "coverage": f"{state.engine.measuring.coverage:g}",
    }


def _line(line: Contribution, largest: float) -> Tree:
    amount = abs(line.amount)
    return {
        "source": line.source,
        "amount": _both_small(amount),
        "share": round(100 * amount / largest, 1),
    }


def _both_small(value: float) -> list[str]:
    return [
        show(value, Dimension.LENGTH, Units.METRIC, unit="µm", uncertainty=value or None),
        show(value, Dimension.LENGTH, Units.INCH, unit="µin", uncertainty=value or None),
    ]
