"""Parts on hand, shop orders, and what came back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from bedplate.errors import NotPossibleError
from bedplate.record import OrderIssued, ReturnRow, ReturnTaken, RowWaived, Sent
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import needed, unknown
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.record import OnHand
    from bedplate.shop.checkin.model import OrderState


class Ordering(Core):
    """The use cases of parts and of the machine shop."""

    @once
    def add_part(self, build: str, said: Mapping[str, str], *, by: str, id: str = "") -> Receipt:
        """Note a part on hand, or what is now known of one.

        :param said: as typed, by the names in `bedplate.shop.stock.COLUMNS`
        """
        from bedplate.shop.stock import check_new, on_hand, stock_of

        entry = on_hand(self._stamp(id, by), said)
        check_new(entry, stock_of(self.state(build)))
        return self._append(build, entry)

    def add_parts(self, build: str, data: bytes, file: str, *, by: str) -> list[Receipt]:
        """Take the parts of a CSV file: all of them, or none.

        :raises ImportFileError: with every line that cannot be taken
        """
        from bedplate.shop.stock import COLUMNS, check_new, on_hand, stock_of
        from bedplate.shop.table import rows_from_csv

        with self._lock:
            lots = stock_of(self.state(build))

            def entry(row: Mapping[str, str]) -> OnHand:
                made = on_hand(self._stamp("", by), row)
                check_new(made, lots)
                return made

            entries = rows_from_csv(
                data, file, COLUMNS, entry, needed=("identity",), unique="identity"
            )
            return self._append_all(build, entries)

    @once
    def use_part(
        self, build: str, identity: str, count: int, place: str, *, by: str, id: str = ""
    ) -> Receipt:
        """Note that parts on hand went somewhere."""
        from bedplate.shop.stock import stock_of, used

        lots = stock_of(self.state(build))
        entry = used(self._stamp(id, by), lots, identity.strip(), count, place.strip())
        return self._append(build, entry)

    @once
    def issue_order(
        self, build: str, *, by: str, number: str = "", shop: str = "", id: str = ""
    ) -> Receipt:
        """Issue the order as it is worked out now; a number issued before gets a new revision.

        :raises NotPossibleError: the engine file asks for no work
        """
        from bedplate.shop.checkin.desk import orders_of
        from bedplate.shop.ordering import draft

        state = self.state(build)
        made = draft(state)
        if not made.rows:
            sentence = "The engine file asks the machine shop for no work."
            raise NotPossibleError(sentence, hint="Add a [[work]] table, then revise it.")
        said = state.engine.machining.order
        known = {order.issued.order: order.issued.revision for order in orders_of(state)}
        name = number.strip() or (said.number if said else "") or str(len(known) + 1)
        entry = OrderIssued(
            **self._stamp(id, by),
            order=name,
            revision=known.get(name, 0) + 1,
            shop=shop.strip() or (said.shop if said else ""),
            derived=made.derived,
            rows=made.rows,
            conditions=made.conditions,
            sent=tuple(Sent(part=p, count=c) for p, c in said.sent) if said else (),
            back=said.back if said else (),
        )
        return self._append(build, entry)

    @once
    def take_return(
        self,
        build: str,
        rows: Sequence[Mapping[str, str]],
        *,
        by: str,
        order: str = "",
        returned: Mapping[str, int] | None = None,
        id: str = "",
    ) -> Receipt:
        """Take rows of a shop's return sheet, as typed.

        :param rows: by the names in `bedplate.shop.returns.COLUMNS`
        :param returned: how many of which part came back
        :raises InputError: nothing is said, or a figure cannot be one
        """
        from bedplate.shop.returns import return_row

        held = self._order(build, order)
        units = self.state(build).units
        read = [return_row(held.issued, row, units) for row in rows]
        return self._append(build, self._return(held, read, returned or {}, by, id))

    def take_return_sheet(
        self,
        build: str,
        data: bytes,
        file: str,
        *,
        by: str,
        order: str = "",
        returned: Mapping[str, int] | None = None,
    ) -> Receipt:
        """Take a shop's return sheet from a CSV file, whole or not at all.

        :raises ImportFileError: with every line that cannot be taken
        """
        from bedplate.shop.returns import COLUMNS, return_row
        from bedplate.shop.table import rows_from_csv

        with self._lock:
            held = self._order(build, order)
            units = self.state(build).units

            def entry(said: Mapping[str, str]) -> ReturnRow | None:
                return return_row(held.issued, said, units)

            rows = rows_from_csv(data, file, COLUMNS, entry, needed=("row",), unique="row")
            return self._append(build, self._return(held, rows, returned or {}, by, ""))

    def _return(
        self,
        held: OrderState,
        rows: Sequence[ReturnRow | None],
        returned: Mapping[str, int],
        by: str,
        id: str,
    ) -> ReturnTaken:
        said = tuple(row for row in rows if row is not None)
        sent = {one.part for one in held.issued.sent}
        for part in returned:
            if part not in sent:
                raise unknown("part that was sent", part, sent)
        if not said and not returned:
            sentence = "The return sheet says nothing."
            raise NotPossibleError(sentence, hint="Fill in a value, or whether the work was done.")
        return ReturnTaken(
            **self._stamp(id, by),
            order=held.issued.order,
            revision=held.issued.revision,
            rows=said,
            returned=tuple(Sent(part=p, count=c) for p, c in returned.items()),
        )

    @once
    def waive_row(
        self, build: str, row: str, reason: str, *, by: str, order: str = "", id: str = ""
    ) -> Receipt:
        """Let a row of an order be: a person's decision, with the reason."""
        needed(reason, "why it may be so")
        held = self._order(build, order)
        names = [one.row for one in held.issued.rows]
        if row not in names:
            raise unknown(f"row of order {held.issued.order}", row, names)
        entry = RowWaived(**self._stamp(id, by), order=held.issued.order, row=row, reason=reason)
        return self._append(build, entry)

    def _order(self, build: str, number: str) -> OrderState:
        """Return an order by its number; the only one if none is named."""
        from bedplate.shop.checkin.desk import orders_of

        orders = {order.issued.order: order for order in orders_of(self.state(build))}
        if not number and orders:
            return list(orders.values())[-1]
        if number not in orders:
            if not orders:
                sentence = f"'{build}' has issued no shop order yet."
                raise NotPossibleError(sentence, hint=f"Issue it: bedplate order {build} --issue")
            raise unknown("shop order", number, orders)
        return orders[number]

    def order_sheet(self, build: str, order: str = "") -> bytes:
        """Return a shop order as PDF: the last issued, or the draft where none was."""
        from bedplate.documents.order import order_sheet

        return order_sheet(self.state(build), order)

    def order_letter(self, build: str, order: str = "") -> bytes:
        """Return the letter on the rows of an order that are disputed, as PDF."""
        from bedplate.documents.order import order_letter

        return order_letter(self.state(build), self._order(build, order))

    def return_sheet(self, build: str, order: str = "") -> bytes:
        """Return the blank return sheet of an order as CSV."""
        from bedplate.shop.returns import blank_sheet

        return blank_sheet(self._order(build, order).issued, self.state(build).units)
