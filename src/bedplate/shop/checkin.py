"""What the machine shop was asked for, what it says it did, and what was measured here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import hypot

from bedplate.engine import Gate
from bedplate.engine.orders import WorkStation
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
    Withdrawn,
)
from bedplate.shop.dependence import renewals
from bedplate.shop.facts import gather
from bedplate.shop.model import Question, QuestionKind, State
from bedplate.shop.ordering import Draft, draft

_INCH_UNITS = {"in", "thou", "tenth", "µin", "ft"}
_COVERAGE = 2.0
"""k of what a shop states."""

_SAME_TEMPERATURE = 2.0
"""K: a part nearer to 20 °C than this is not remarked on (common practice, no source)."""


class Agreement(StrEnum):
    """How two values of one row compare."""

    AGREE = "agree"
    CANNOT_TELL = "cannot tell"
    DISAGREE = "disagree"


_SETTLED = frozenset({"waived", "done", "in order", "cannot tell", "too close to call"})
"""What an order asks no more about; a fit that lies too close asks for itself."""


@dataclass(frozen=True, slots=True)
class RowState:
    """A row of an order, in the light of everything after it; lengths in m, angles in rad.

    :param stale: why what is known of it no longer holds, '' if it does
    :param changed: why it would be ordered otherwise now, '' if it would not
    :param shop: what the shop says; `shop_text` as it wrote it
    :param shop_expanded: U of it; None where nobody says
    :param own: measured here: the mean, or the form
    :param expanded: combined U of the difference
    :param why: what the agreement rests on
    :param flags: what differs between the two, and what is odd about the sheet
    :param verdict: what was measured here, against what was ordered
    :param shop_verdict: what the shop says, against what was ordered
    :param done: 'yes', 'no', '' for a figure
    """

    row: OrderRow
    stale: str = ""
    changed: str = ""
    shop: float | None = None
    shop_text: str = ""
    shop_expanded: float | None = None
    own: float | None = None
    own_expanded: float | None = None
    difference: float | None = None
    expanded: float | None = None
    agreement: Agreement | None = None
    why: str = ""
    flags: tuple[str, ...] = ()
    judgement: Judgement = not_measured()  # noqa: RUF009 - it is frozen
    shop_verdict: Verdict = Verdict.NOT_MEASURED
    done: str = ""
    remark: str = ""
    gauge: str = ""
    waived: str = ""
    waived_by: str = ""

    @property
    def verdict(self) -> Verdict:
        """Return the verdict on what was measured here."""
        return self.judgement.verdict

    @property
    def returned(self) -> bool:
        """Tell whether the shop gave a figure, or said whether it did the work."""
        return self.shop is not None or bool(self.done)

    @property
    def disputed(self) -> bool:
        """Tell whether the shop should hear of it."""
        return not self.stale and (
            self.agreement is Agreement.DISAGREE
            or Verdict.OUTSIDE in {self.verdict, self.shop_verdict}
        )

    @property
    def standing(self) -> str:
        """Say in a word or two how the row stands."""
        if self.waived:
            return "waived"
        if self.row.waits_for and self.done != "yes":
            return "waiting"
        if self.stale:
            return "stale"
        if not self.returned:
            return "not returned"
        if self.row.quantity == "words":
            return "done" if self.done == "yes" else "not done"
        if self.disputed:
            return "disputed" if self.agreement is Agreement.DISAGREE else "outside"
        if self.row.feature and self.own is None:
            return "not measured here"
        if self.agreement is Agreement.CANNOT_TELL:
            return "cannot tell"
        return "too close to call" if self.verdict is Verdict.UNDECIDED else "in order"

    @property
    def settled(self) -> bool:
        """Tell whether nothing of the row is open."""
        return self.standing in _SETTLED


@dataclass(frozen=True, slots=True)
class Count:
    """Parts that went out, and how many of them are back; `back` is None until some are."""

    part: str
    sent: int
    back: int | None


@dataclass(frozen=True, slots=True)
class OrderState:
    """The last revision of an order.

    :param number: of the entry that issued it
    :param changed: why it would be written otherwise now, a sentence each
    :param returns: sheets that came back
    """

    issued: OrderIssued
    number: int
    rows: tuple[RowState, ...]
    changed: tuple[str, ...]
    counts: tuple[Count, ...]
    returns: int

    @property
    def name(self) -> str:
        """Return number and revision."""
        return f"{self.issued.order}, revision {self.issued.revision}"

    def station(self, name: str) -> tuple[RowState, ...]:
        """Return the rows of a station of work."""
        return tuple(row for row in self.rows if row.row.station == name)

    @property
    def stations(self) -> tuple[str, ...]:
        """Return the stations of work, in order."""
        return tuple(dict.fromkeys(row.row.station for row in self.rows))

    @property
    def disputed(self) -> tuple[RowState, ...]:
        """Return the rows that the shop should hear of."""
        return tuple(row for row in self.rows if row.disputed and not row.waived)


def orders_of(state: State) -> tuple[OrderState, ...]:
    """Return each order by its last revision, in the order they were first issued."""
    if not any(isinstance(n.entry, OrderIssued) for n in state.entries):
        return ()
    return _Desk(state).orders()


class _Desk:
    """Puts order, return sheets and readings beside each other."""

    def __init__(self, state: State) -> None:
        self._state = state
        self._back = {n.entry.target for n in state.entries if isinstance(n.entry, Withdrawn)}
        facts = gather(state.entries)
        self._renewed = renewals(state.engine, facts)

    @cached_property
    def _now(self) -> dict[str, OrderRow]:
        held: Draft = draft(self._state)
        return {row.row: row for row in held.rows}

    def orders(self) -> tuple[OrderState, ...]:
        last: dict[str, tuple[OrderIssued, int]] = {}
        for row in self._state.entries:
            if isinstance(row.entry, OrderIssued) and row.entry.id not in self._back:
                last[row.entry.order] = (row.entry, row.number)
        return tuple(self._order(entry, number) for entry, number in last.values())

    def _order(self, issued: OrderIssued, number: int) -> OrderState:
        sheets: dict[str, tuple[ReturnRow, int]] = {}
        counted: dict[str, int] = {}
        waived: dict[str, RowWaived] = {}
        returns = 0
        for row in self._state.entries:
            entry = row.entry
            if entry.id in self._back:
                continue
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
        return bool(row.condition) and _plain(condition) != _plain(row.condition)

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


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


_GATES = {
    WorkStation.MAIN_TUNNEL: Gate.CLOSING_MAINS,
    WorkStation.CRANK: Gate.CLOSING_MAINS,
    WorkStation.BORING: Gate.CLOSING_RODS,
    WorkStation.DECK: Gate.CLOSING_RODS,
    WorkStation.RODS: Gate.CLOSING_RODS,
    WorkStation.BALANCE: Gate.FIRST_START,
    WorkStation.OTHER: Gate.FIRST_START,
}


def order_questions(state: State, gates: Callable[[], Mapping[str, Gate]]) -> Iterator[Question]:
    """Yield what is open between an order and what came of it.

    :param gates: gives, by feature id, the earliest gate that rests on it
    """
    for order in orders_of(state):
        earliest = gates()
        for station in order.stations:
            yield from _of_station(order, station, earliest)
        for count in order.counts:
            if count.back is not None and count.back != count.sent:
                yield _question(
                    Gate.CLOSING_MAINS,
                    order,
                    "",
                    f"of {count.sent} {count.part} sent, {count.back} came back.",
                    "Find them, or take the sheet again with the right count.",
                )


def _of_station(
    order: OrderState, station: str, earliest: Mapping[str, Gate]
) -> Iterator[Question]:
    gate = _GATES[WorkStation(station)]
    waiting: dict[tuple[Gate, str], list[RowState]] = {}
    for row in order.station(station):
        its_gate = earliest.get(row.row.feature, gate)
        standing = row.standing
        if row.settled:
            continue
        if standing in {"not returned", "not measured here"}:
            waiting.setdefault((its_gate, standing), []).append(row)
        elif standing == "waiting":
            sentence = f"{row.row.name} is not done: {row.row.waits_for}."
            yield _question(its_gate, order, row.row.row, sentence, "Have it done, or waive it.")
        elif standing == "stale":
            sentence = f"{row.row.name}: what came back is stale, {row.stale}."
            yield _question(its_gate, order, row.row.row, sentence, "Take the shop's figure again.")
        elif standing == "not done":
            sentence = f"{row.row.name}: the shop did not do it. {row.remark}".rstrip()
            yield _question(its_gate, order, row.row.row, sentence, "Have it done, or waive it.")
        else:
            to_do = "Send the letter, have it put right, or waive it by name and reason."
            yield _question(its_gate, order, row.row.row, _dispute(row), to_do)
    for (its_gate, standing), rows in waiting.items():
        yield from _grouped(order, its_gate, standing, rows)
    changed = [row for row in order.station(station) if row.changed and not row.returned]
    for row in changed:
        if not row.waived:
            sentence = f"{row.row.name} would be ordered otherwise now: {row.changed}."
            yield _question(
                earliest.get(row.row.feature, gate), order, row.row.row, sentence,
                "Issue a revision, and tell the shop.",
            )  # fmt: skip


def _dispute(row: RowState) -> str:
    if row.agreement is Agreement.DISAGREE:
        return f"{row.row.name}: the shop's figure and ours disagree, {row.why}."
    whose = "measured here" if row.verdict is Verdict.OUTSIDE else "by the shop's own figure"
    return f"{row.row.name} is outside what was ordered, {whose}."


_NAMED = 3


def _grouped(
    order: OrderState, gate: Gate, standing: str, rows: list[RowState]
) -> Iterator[Question]:
    names = ", ".join(row.row.name for row in rows[:_NAMED])
    more = f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
    if standing == "not returned":
        sentence = f"{names}{more}: ordered, and nothing came back for {_it(rows)}."
        to_do = "Enter the return sheet, or waive by name and reason."
    else:
        sentence = f"{names}{more}: the shop says, and nobody here has measured {_it(rows)}."
        to_do = "Measure, or waive by name and reason."
    yield _question(gate, order, rows[0].row.row, sentence, to_do)


def _it(rows: list[RowState]) -> str:
    return "it" if len(rows) == 1 else "them"


def _question(gate: Gate, order: OrderState, row: str, sentence: str, to_do: str) -> Question:
    about = f"order {order.issued.order}{f', {row}' if row else ''}"
    return Question(
        gate, QuestionKind.ORDER, about, f"Order {order.issued.order}: {sentence}", to_do
    )
