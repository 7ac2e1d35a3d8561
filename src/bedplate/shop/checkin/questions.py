"""What is open of the orders."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from bedplate.engine import Gate
from bedplate.engine.orders import WorkStation
from bedplate.metrology import Verdict
from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.checkin.model import Agreement, OrderState, RowState
from bedplate.shop.model import Question, QuestionKind, State

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
