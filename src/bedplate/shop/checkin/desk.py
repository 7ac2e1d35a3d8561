"""Each row of an order, held to what the shop said and to what was measured here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import hypot

from bedplate.metrology import Judgement, Source, Verdict, judge, not_measured, standard_uncertainty
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.sources import value_of
from bedplate.metrology.temperature import REFERENCE, growth
from bedplate.metrology.worst import NO_RIVALS, Rivals, form_rivals, rivals_in
from bedplate.quantity import Dimension, Units, parse, show, show_both
from bedplate.record.entries import (
    OrderIssued,
    OrderRow,
    ReturnRow,
    ReturnTaken,
    RowWaived,
)
from bedplate.record.standing import standing
from bedplate.shop.checkin.model import Agreement, Count, OrderState, RowState
from bedplate.shop.dependence import renewals
from bedplate.shop.facts import gather
from bedplate.shop.model import State
from bedplate.shop.ordering import Draft, draft
from bedplate.wording import plain

_INCH_UNITS = {"in", "thou", "tenth", "µin", "ft"}


_COVERAGE = 2.0
"""k of what a shop states."""


_SAME_TEMPERATURE = 2.0
"""K: a part nearer to 20 °C than this is not remarked on (common practice, no source)."""


def orders_of(state: State) -> tuple[OrderState, ...]:
    """Return each order by its last revision, in the order they were first issued."""
    if not any(isinstance(n.entry, OrderIssued) for n in state.entries):
        return ()
    return _Desk(state).orders()


class _Desk:
    """Puts order, return sheets and readings beside each other."""

    def __init__(self, state: State) -> None:
        self._state = state
        self._standing = standing(state.entries)
        facts = gather(state.entries)
        self._renewed = renewals(state.engine, facts)

    @cached_property
    def _now(self) -> dict[str, OrderRow]:
        held: Draft = draft(self._state)
        return {row.row: row for row in held.rows}

    def orders(self) -> tuple[OrderState, ...]:
        last: dict[str, tuple[OrderIssued, int]] = {}
        for row in self._standing:
            if isinstance(row.entry, OrderIssued):
                last[row.entry.order] = (row.entry, row.number)
        return tuple(self._order(entry, number) for entry, number in last.values())

    def _order(self, issued: OrderIssued, number: int) -> OrderState:
        sheets: dict[str, tuple[ReturnRow, int]] = {}
        counted: dict[str, int] = {}
        waived: dict[str, RowWaived] = {}
        returns = 0
        for row in self._standing:
            entry = row.entry
            if isinstance(entry, ReturnTaken) and entry.order == issued.order:
                returns += 1
                sheets.update({one.row: (one, row.number) for one in entry.rows})
                for sent in entry.returned:
                    counted[sent.part] = counted.get(sent.part, 0) + sent.count
            elif isinstance(entry, RowWaived) and entry.order == issued.order:
                waived[entry.row] = entry
        rows = tuple(
            self._row(row, number, sheets.get(row.row), waived.get(row.row)) for row in issued.rows
        )
        return OrderState(
            issued=issued,
            number=number,
            rows=rows,
            changed=tuple(f"{row.row.name}: {row.changed}." for row in rows if row.changed),
            counts=tuple(Count(one.part, one.count, counted.get(one.part)) for one in issued.sent),
            returns=returns,
        )

    def _row(
        self,
        row: OrderRow,
        number: int,
        sheet: tuple[ReturnRow, int] | None,
        waived: RowWaived | None,
    ) -> RowState:
        said = sheet[0] if sheet else ReturnRow(row=row.row)
        stale = ""
        if sheet and row.feature in self._renewed:
            renewed, why = self._renewed[row.feature]
            stale = why if renewed > sheet[1] else ""
        shop = said.value.si if said.value else None
        unsure = self._shop_expanded(said)
        own = None if stale else self._own(row, number)
        comparison = self._compared(row, said, shop, unsure, own)
        return RowState(
            row=row,
            stale=stale,
            changed=self._changed(row),
            shop=shop,
            shop_text=said.value.text if said.value else "",
            shop_expanded=unsure if shop is not None else None,
            own=None if own is None else float(own.middle.nominal_value),
            own_expanded=None if own is None else self._expanded(own.middle),
            difference=comparison.difference,
            expanded=comparison.expanded,
            agreement=comparison.agreement,
            why=comparison.why,
            flags=tuple(self._flags(row, said, own)),
            judgement=not_measured() if own is None else self._judged(row, own),
            shop_verdict=self._shop_verdict(row, shop, unsure),
            done=said.done,
            remark=said.remark,
            gauge=said.gauge,
            waived=waived.reason if waived else "",
            waived_by=waived.by if waived else "",
        )

    def _changed(self, row: OrderRow) -> str:
        """Say why a row would be ordered otherwise now."""
        now = self._now.get(row.row)
        if now is None:
            return "it would not be ordered now"
        if now.basis == row.basis and now.waits_for == row.waits_for:
            return ""
        if now.waits_for and now.waits_for != row.waits_for:
            return now.waits_for
        if row.waits_for and not now.waits_for:
            return "it can be ordered now"
        return f"it was worked out from {row.basis or 'nothing'}; now it would be from {now.basis}"

    def _shop_expanded(self, said: ReturnRow) -> float | None:
        coverage = self._state.engine.measuring.coverage / _COVERAGE
        if said.uncertainty is not None:
            return said.uncertainty.si * coverage
        order = self._state.engine.machining.order
        if order is None or order.uncertainty is None:
            return None
        return order.uncertainty * coverage

    def _expanded(self, value: AffineScalarFunc) -> float:
        return self._state.engine.measuring.coverage * standard_uncertainty(value)

    def _own(self, row: OrderRow, number: int) -> _Own | None:
        """Return what was measured here after the order went out."""
        held = self._state.features.get(row.feature)
        if held is None or held.size is None:
            return None
        size = held.size
        if min(n for station in size.stations for n in station.readings) < number:
            return None
        if row.form.startswith("at "):
            found = [s.value for s in size.stations if s.station == row.form[3:]]
            return _Own(found[0], found[0], found[0], True) if found else None
        if row.form in {"out-of-round", "taper"}:
            form = size.out_of_round if row.form == "out-of-round" else size.taper
            rivals = form_rivals(size, held.feature, taper=row.form == "taper")
            return None if form is None else _Own(form, form, form, size.complete, rivals)
        return _Own(size.mean, size.least, size.greatest, size.complete, rivals_in(size))

    def _judged(self, row: OrderRow, own: _Own) -> Judgement:
        coverage = self._state.engine.measuring.coverage
        found = judge(
            own.least, own.greatest, row.low, row.high, coverage=coverage, rivals=own.rivals
        )
        if not own.complete and found.verdict is not Verdict.OUTSIDE:
            return not_measured()
        return found

    def _shop_verdict(self, row: OrderRow, shop: float | None, unsure: float | None) -> Verdict:
        if shop is None or row.quantity == "words":
            return Verdict.NOT_MEASURED
        known = (unsure or 0.0) if row.quantity == "length" else 0.0
        coverage = self._state.engine.measuring.coverage
        value = value_of(shop, {Source(known / coverage, "the shop's figure"): 1.0})
        return judge(value, value, row.low, row.high, coverage=coverage).verdict

    def _compared(
        self,
        row: OrderRow,
        said: ReturnRow,
        shop: float | None,
        unsure: float | None,
        own: _Own | None,
    ) -> _Comparison:
        """Compare the two values of a row (ISO/IEC 17043, E_n: |d| against the combined U)."""
        if shop is None or own is None:
            return _Comparison()
        difference = shop - float(own.middle.nominal_value)
        ours = self._expanded(own.middle)
        if unsure is None:
            why = "the shop states no uncertainty"
            return _Comparison(difference, None, Agreement.CANNOT_TELL, why)
        expanded = hypot(ours, unsure)
        units = self._state.units
        shown = show(expanded, Dimension.LENGTH, units, uncertainty=expanded)
        if abs(difference) > expanded:
            if said.condition and self._other_state(row, said.condition):
                why = f"more than the combined {shown}, but the parts' state was another"
                return _Comparison(difference, expanded, Agreement.CANNOT_TELL, why)
            why = f"more than the combined {shown}"
            return _Comparison(difference, expanded, Agreement.DISAGREE, why)
        width = None if row.low is None or row.high is None else row.high - row.low
        if width is not None and expanded > width:
            why = f"within the combined {shown}, which is wider than what was ordered"
            return _Comparison(difference, expanded, Agreement.CANNOT_TELL, why)
        return _Comparison(difference, expanded, Agreement.AGREE, f"within the combined {shown}")

    def _other_state(self, row: OrderRow, condition: str) -> bool:
        return bool(row.condition) and plain(condition) != plain(row.condition)

    def _flags(self, row: OrderRow, said: ReturnRow, own: _Own | None) -> Iterator[str]:
        units = self._state.units
        if said.value is not None:
            unit = _unit_of(said.value.text, row.quantity)
            if unit and (unit in _INCH_UNITS) is (units is Units.METRIC):
                dimension = Dimension.LENGTH
                kind = "inches" if unit in _INCH_UNITS else "millimetres"
                shown = "" if row.quantity == "surface" else (
                    f": {show_both(said.value.si, dimension, units)}"
                )  # fmt: skip
                yield f"written in {kind}, ordered in the other unit{shown}"
            if row.condition and not said.condition and row.feature:
                yield f"the shop does not say its state; ordered with '{row.condition}'"
            elif self._other_state(row, said.condition):
                yield f"shop: '{said.condition}'; ordered with '{row.condition}'"
        if said.temperature is not None:
            yield from self._warm(row, said.temperature.si)
        held = self._state.features.get(row.feature)
        if own is not None and held is not None:
            for condition in sorted({r.condition for r in held.readings if r.standing == "counts"}):
                if self._other_state(row, condition):
                    yield f"here: '{condition or 'no state noted'}'; ordered with '{row.condition}'"

    def _warm(self, row: OrderRow, temperature: float) -> Iterator[str]:
        rise = temperature - REFERENCE
        held = self._state.features.get(row.feature)
        if abs(rise) <= _SAME_TEMPERATURE or held is None or row.form != "size":
            return
        material = self._state.engine.materials.get(held.feature.material)
        size = row.aim or held.feature.nominal
        if material is None or material.expansion is None or size is None:
            yield f"measured at {temperature - 273.15:.0f} °C"
            return
        grown = growth(size, material.expansion, rise)
        shown = show(grown, Dimension.LENGTH, Units.METRIC, signed=True, uncertainty=1e-6)
        yield f"measured at {temperature - 273.15:.0f} °C, which moves it by {shown} from 20 °C"


@dataclass(frozen=True, slots=True)
class _Own:
    """What was measured here of a row."""

    middle: AffineScalarFunc
    least: AffineScalarFunc
    greatest: AffineScalarFunc
    complete: bool
    rivals: Rivals = NO_RIVALS


@dataclass(frozen=True, slots=True)
class _Comparison:
    difference: float | None = None
    expanded: float | None = None
    agreement: Agreement | None = None
    why: str = ""


def _unit_of(text: str, quantity: str) -> str:
    if quantity not in {"length", "surface"}:
        return ""
    return parse(text, Dimension.LENGTH).unit
