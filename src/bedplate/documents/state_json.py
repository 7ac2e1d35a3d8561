"""The state of a build as JSON: one form for terminal, page and the file attached to the book.

Format 1. Every number is SI and carries its unit in its key (`_m`, `_rad`, `_k`, `_per_k`); a
number that is not known is null; text stands as typed. Keys stand in a fixed order, builds and
times as in the record, and the same state gives the same bytes. Keys may be added within format 1,
never renamed.

* `build`, `title`, `units`, `checkpoint` (`count`, `head`), `tally` (fits by verdict, stale,
  accepted)
* `engine`: what is meant: `layout` with each cylinder in the maker's, ISO 1204 and DIN 73021
  numbering
* `features`: `size`, `stations` (value, standard uncertainty, the record numbers in it) and
  `readings`
* `fits`: limits, target, value, uncertainty, verdict, what it rests on, its uncertainty budget
* `assembly`: steps, turning torques, counts, tightening runs and the life of each bolt
* `gauges`, `questions`, `plan`, and `notes`
* `shop`: orders with their check-in, parts on hand, selections, rings
"""

from __future__ import annotations

from typing import Any

import msgspec

from bedplate.documents.assembly_json import assembly_as_dict
from bedplate.documents.balance_json import ledger_as_dict
from bedplate.documents.shop_json import shop_as_dict
from bedplate.engine.model import Engine, Layout, Station
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.results import Size
from bedplate.shop.balance.ledger import ledger_of
from bedplate.shop.model import (
    FeatureState,
    FitState,
    GaugeState,
    PlanGroup,
    Question,
    ReadingState,
    State,
)

FORMAT = "bedplate state"
VERSION = 1

Tree = dict[str, Any]


def state_as_json(state: State) -> bytes:
    """Return the state as UTF-8 JSON, the same bytes for the same state."""
    return msgspec.json.encode(state_as_dict(state))


def state_as_dict(state: State) -> Tree:
    """Return the state as JSON objects; the module says what is in them."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "build": state.build,
        "title": state.title,
        "units": state.units.value,
        "checkpoint": {"count": state.checkpoint.count, "head": state.checkpoint.head},
        "tally": state.tally(),
        "engine": _engine(state.engine),
        "features": [_feature(feature) for feature in state.features.values()],
        "fits": [_fit(fit) for fit in state.fits.values()],
        "gauges": [_gauge(gauge) for gauge in state.gauges.values()],
        "questions": [_question(question) for question in state.questions],
        "plan": [_group(group) for group in state.plan],
        "shop": shop_as_dict(state),
        "assembly": assembly_as_dict(state),
        "balance": ledger_as_dict(ledger_of(state)),
        "notes": {
            about: [{"number": row.number, **msgspec.to_builtins(row.entry)} for row in rows]
            for about, rows in state.notes.items()
        },
    }


def _engine(engine: Engine) -> Tree:
    measuring = engine.measuring
    return {
        "name": engine.name,
        "digest": engine.digest,
        "invented": engine.invented,
        "units": engine.units.value,
        "caps": engine.caps.value,
        "thrust_main": engine.thrust_main,
        "bore_m": engine.bore,
        "stroke_m": engine.stroke,
        "rod_m": engine.rod,
        "previous": engine.previous,
        "layout": _layout(engine.layout),
        "measuring": {
            "coverage": measuring.coverage,
            "reduce_to_20_c": measuring.reduce,
            "temperature_standard_uncertainty_k": measuring.temperature_uncertainty,
        },
        "materials": [
            {
                "part": part,
                "name": material.name,
                "expansion_per_k": material.expansion,
                "expansion_standard_uncertainty_per_k": material.expansion_uncertainty,
                "source": material.source,
            }
            for part, material in engine.materials.items()
        ],
        "facts": [{"name": name, "text": text} for name, text in engine.facts],
    }


def _layout(layout: Layout) -> Tree:
    return {
        "form": layout.form,
        "bank_angle_rad": layout.bank_angle,
        "pin_offset_rad": layout.pin_offset,
        "shared_pins": layout.shared_pins,
        "cycle_rad": layout.cycle,
        "front": layout.front,
        "clockwise_seen_from_free_end": layout.clockwise,
        "crankpins": layout.crankpins,
        "mains": layout.mains,
        "mains_from": layout.mains_from,
        "firing": list(layout.firing),
        "intervals_rad": list(layout.intervals),
        "cylinders": [
            {
                "label": cylinder.label,
                "place": cylinder.place,
                "iso_1204": cylinder.iso_1204,
                "din_73021": cylinder.din_73021,
                "bank": cylinder.bank,
                "position": cylinder.position,
                "crankpin": cylinder.crankpin,
                "bank_angle_rad": cylinder.bank_angle,
                "throw_angle_rad": cylinder.throw_angle,
                "dead_centre_rad": cylinder.dead_centre,
            }
            for cylinder in layout.cylinders
        ],
    }


def _feature(state: FeatureState) -> Tree:
    feature = state.feature
    return {
        "id": feature.id,
        "kind": feature.kind,
        "number": feature.number,
        "name": feature.name,
        "part": feature.part,
        "shape": feature.shape.value,
        "material": feature.material,
        "nominal_m": feature.nominal,
        "condition": feature.condition,
        "stale": state.stale,
        "size": None if state.size is None else _size(state.size, state.expanded),
        "wear_m": state.wear,
        "wear_note": state.wear_note,
        "reduction_to_20_c_m": state.reduction,
        "stations": [_station(station, state.size) for station in feature.stations],
        "readings": [_reading(reading) for reading in state.readings],
    }


def _number(value: AffineScalarFunc | None) -> float | None:
    return None if value is None else float(value.nominal_value)


def _size(size: Size, expanded: float | None) -> Tree:
    return {
        "mean_m": _number(size.mean),
        "expanded_uncertainty_m": expanded,
        "least_m": _number(size.least),
        "greatest_m": _number(size.greatest),
        "out_of_round_m": _number(size.out_of_round),
        "taper_m": _number(size.taper),
        "complete": size.complete,
    }


def _station(station: Station, size: Size | None) -> Tree:
    known = next((s for s in size.stations if s.station == station.id), None) if size else None
    return {
        "id": station.id,
        "name": station.name,
        "section": station.section,
        "direction": station.direction,
        "angle_rad": station.angle,
        "depth_m": station.depth,
        "value_m": _number(known.value) if known else None,
        "standard_uncertainty_m": float(known.value.std_dev) if known else None,
        "readings": list(known.readings) if known else [],
    }


def _reading(reading: ReadingState) -> Tree:
    return {
        "number": reading.number,
        "id": reading.id,
        "station": reading.station,
        "gauge": reading.gauge,
        "text": reading.text,
        "size_m": reading.size,
        "at": reading.at,
        "by": reading.by,
        "condition": reading.condition,
        "standing": reading.standing,
        "why": reading.why,
        "doubts": [
            {"code": doubt.code, "sentence": doubt.sentence, "instead_m": doubt.instead}
            for doubt in reading.doubts
        ],
    }


def _fit(state: FitState) -> Tree:
    fit, judgement = state.fit, state.judgement
    return {
        "id": fit.id,
        "kind": fit.kind,
        "number": fit.number,
        "name": fit.name,
        "gate": fit.gate.value,
        "sense": fit.sense,
        "formula": fit.formula,
        "condition": fit.condition,
        "source": fit.source,
        "limits": [
            {
                "text": limit.range.text,
                "low_m": limit.range.low,
                "high_m": limit.range.high,
                "within_rad_of_split": limit.within,
            }
            for limit in fit.limits
        ],
        "target_m": None if fit.target is None else fit.target.value,
        "low_m": state.low,
        "high_m": state.high,
        "value_m": state.value,
        "expanded_uncertainty_m": state.expanded,
        "least_m": state.least,
        "expanded_uncertainty_least_m": state.expanded_least,
        "greatest_m": state.greatest,
        "expanded_uncertainty_greatest_m": state.expanded_greatest,
        "crown_excess_m": state.eccentricity,
        "verdict": state.verdict.value,
        "advice": judgement.advice,
        "readings_needed": judgement.readings_needed,
        "expanded_uncertainty_needed_m": judgement.gauge_needed,
        "stale": state.stale,
        "accepted": state.accepted,
        "accepted_by": state.accepted_by,
        "acceptance_lapsed": state.lapsed,
        "rests_on": list(state.rests_on),
        "missing": list(state.missing),
        "budget": [
            {"source": line.source, "standard_uncertainty_m": line.amount, "share": line.share}
            for line in state.budget
        ],
    }


def _gauge(state: GaugeState) -> Tree:
    setting = state.setting
    return {
        **msgspec.to_builtins(state.gauge),
        "number": state.number,
        "readings": state.readings,
        "overdue": state.overdue,
        "drift_m": state.drift,
        "setting": None
        if setting is None
        else {"number": state.setting_number, **msgspec.to_builtins(setting)},
    }


def _question(question: Question) -> Tree:
    return {
        "gate": question.gate.value,
        "kind": question.kind.value,
        "about": question.about,
        "sentence": question.sentence,
        "to_do": question.to_do,
    }


def _group(group: PlanGroup) -> Tree:
    return {
        "title": group.title,
        "gauge_kind": group.gauge_kind,
        "condition": group.condition,
        "setting_m": group.setting,
        "gauges": list(group.gauges),
        "steps": [
            {
                "feature": step.feature,
                "station": step.station,
                "serves": list(step.serves),
                "done": step.done,
                "needed": step.needed,
            }
            for step in group.steps
        ],
    }
