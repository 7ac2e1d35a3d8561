"""Weights, balance cards, what turns with the crank, and torsion."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedplate.engine.balancing import CRANK
from bedplate.errors import EntryError, NotPossibleError
from bedplate.quantity import Dimension, parse
from bedplate.record import (
    BalanceCardTaken,
    BalanceClosed,
    CardLine,
    PlaneResidual,
    TorsionMeasured,
    TurningPart,
    Typed,
    Weighed,
)
from bedplate.shop.balance.planes import planes_said
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import needed, typed_as
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.shop.balance.bob_weight import Card
    from bedplate.shop.balance.card_check import Remark
    from bedplate.shop.balance.ledger import Ledger
    from bedplate.shop.balance.shaking import Shaking
    from bedplate.shop.torsion.report import TorsionReport

_WEIGHT, _UNBALANCE = Dimension.MASS, Dimension.UNBALANCE


class Balancing(Core):
    """The use cases of balance and torsion."""

    @once
    def weigh(
        self,
        build: str,
        part: str,
        weight: str,
        *,
        by: str,
        number: str = "",
        uncertainty: str = "",
        scale: str = "",
        id: str = "",
    ) -> Receipt:
        """Note what a part weighs.

        :param number: label of the cylinder, '' where all are alike
        :param uncertainty: of the scale, k = 2
        """
        from bedplate.shop.balance.weights import check_weight, weights_of

        state = self.state(build)
        typed = typed_as(weight, _WEIGHT)
        known = weights_of(state.engine, state)
        check_weight(state.engine, known, part, number, typed.si)
        unsure = typed_as(uncertainty, _WEIGHT) if uncertainty.strip() else None
        if unsure is not None and not 0 <= unsure.si < typed.si:
            sentence = f"A scale that is {uncertainty} out does not weigh {weight}."
            raise EntryError(sentence, hint="Give its uncertainty, such as 0.1 g.")
        entry = Weighed(
            **self._stamp(id, by), part=part, weight=typed, number=number, uncertainty=unsure,
            scale=scale.strip(),
        )  # fmt: skip
        return self._append(build, entry)

    @once
    def take_balance_card(
        self,
        build: str,
        shop: str,
        residual: Sequence[str],
        *,
        by: str,
        lines: Sequence[str] = (),
        bob_weight: str = "",
        mass: str = "",
        speed: str = "",
        grade: str = "",
        on_crank: Sequence[str] = (),
        machine: str = "",
        id: str = "",
    ) -> Receipt:
        """Take in a balancing shop's card.

        :param residual: 'front 120 g·mm @ 40 deg', one a plane; the angle may be left out
        :param lines: 'big end 2 x 432 g', one a line
        :param on_crank: parts that were on the crank, with their marks: 'damper: D-7'
        """
        from bedplate.shop.balance.residual import read_grade
        from bedplate.shop.balance.weights import check_mass

        needed(shop, "which shop balanced it")
        engine = self.state(build).engine
        on = _on_crank(on_crank, engine.balancing.turning)
        weighs = _given(mass, _WEIGHT)
        if weighs is not None:
            check_mass(engine, CRANK, weighs.si)
        read = tuple(_line(text) for text in lines if text.strip())
        total = _given(bob_weight, _WEIGHT)
        weights = [line.value for line in read] + ([total] if total else [])
        _one_unit(weights, _WEIGHT, "The weights")
        entry = BalanceCardTaken(
            **self._stamp(id, by),
            shop=shop.strip(),
            residual=_residuals(residual),
            lines=read,
            bob_weight=total,
            mass=weighs,
            speed=_given(speed, Dimension.ROTATION),
            grade=read_grade(grade),
            on_crank=tuple(on),
            marks=tuple(on.values()) if any(on.values()) else (),
            machine=machine.strip(),
        )
        return self._append(build, entry)

    @once
    def turning_part(
        self,
        build: str,
        part: str,
        standing: str,
        *,
        by: str,
        identity: str = "",
        residual: str = "",
        reason: str = "",
        id: str = "",
    ) -> Receipt:
        """Say how a part that turns with the crank stands in its balance."""
        from bedplate.shop.balance.statements import check_standing

        left = _given(residual, _UNBALANCE)
        state = self.state(build)
        which = identity.strip() or self._identity(build, part)
        check_standing(state, part, standing, which, reason, left.si if left else None)
        entry = TurningPart(
            **self._stamp(id, by), part=part, standing=standing, identity=which, residual=left,
            reason=reason.strip(),
        )  # fmt: skip
        return self._append(build, entry)

    def _identity(self, build: str, part: str) -> str:
        """Return which one it was said to be before."""
        ledger = self.balance_ledger(build)
        return next((one.identity for one in ledger.parts if one.part == part), "")

    @once
    def close_balance(self, build: str, statement: str, *, by: str, id: str = "") -> Receipt:
        """Call everything that turns balanced; refused while something is due."""
        from bedplate.shop.balance.ledger import digest
        from bedplate.shop.balance.statements import require_all_in

        needed(statement, "what is stated")
        ledger = require_all_in(self.state(build))
        if ledger.balanced:
            sentence = "It is called balanced already, and nothing has changed since."
            raise NotPossibleError(sentence)
        entry = BalanceClosed(
            **self._stamp(id, by),
            statement=statement,
            parts=tuple(part.part for part in ledger.parts),
            derived=digest(ledger.parts),
        )
        return self._append(build, entry)

    def balance_ledger(self, build: str) -> Ledger:
        """Return what turns with the crank, and what is still due."""
        from bedplate.shop.balance.ledger import ledger_of

        return ledger_of(self.state(build))

    def bob_weights(self, build: str) -> Card:
        """Return the bob-weight card."""
        from bedplate.shop.balance.bob_weight import bob_weight_card
        from bedplate.shop.balance.weights import weights_of

        state = self.state(build)
        return bob_weight_card(state.engine, weights_of(state.engine, state))

    def card_remarks(self, build: str) -> tuple[Remark, ...]:
        """Return what is right and wrong with the balancer's last card, if there is one."""
        from bedplate.shop.balance.card_check import check_card

        state, given = self.state(build), self.balance_ledger(build).card
        if given is None:
            return ()
        return check_card(state, given, self.bob_weights(build))

    def shaking(self, build: str) -> Shaking:
        """Return what the engine shakes with."""
        from bedplate.shop.balance.shaking import shaking_of

        state = self.state(build)
        return shaking_of(state.engine, state)

    def torsion(self, build: str) -> TorsionReport:
        """Return at which speeds the crank twists."""
        from bedplate.shop.torsion.report import torsion_of

        state = self.state(build)
        return torsion_of(state.engine, state)

    @once
    def torsion_measured(
        self,
        build: str,
        what: str,
        value: str,
        *,
        by: str,
        instrument: str,
        uncertainty: str = "",
        id: str = "",
    ) -> Receipt:
        """Note what was measured of the crank in torsion; it takes the estimate's place.

        :param what: 'stiffness of a throw' or 'first natural frequency'
        :param uncertainty: expanded, k = 2, as a quantity or in per cent
        """
        from bedplate.shop.torsion.measured import read_measured

        needed(instrument, "with what it was measured")
        self.state(build)
        typed, unsure = read_measured(what, value, uncertainty)
        entry = TorsionMeasured(
            **self._stamp(id, by), what=what, value=typed, uncertainty=unsure,
            instrument=instrument.strip(),
        )  # fmt: skip
        return self._append(build, entry)

    def balance_card(self, build: str) -> bytes:
        """Return the bob-weight card as PDF."""
        from bedplate.documents.balance_card import balance_card

        return balance_card(self.state(build))


def _plain(text: str) -> str:
    """Return what was typed on one line, cut short."""
    return " ".join(text.split())[:60]


def _given(text: str, dimension: Dimension) -> Typed | None:
    if not text.strip():
        return None
    typed = typed_as(text.strip(), dimension)
    if typed.si < 0:
        sentence = f"'{_plain(text)}' is below nothing."
        raise EntryError(sentence, hint="Check the sign.")
    return typed


def _on_crank(texts: Sequence[str], turning: Sequence[str]) -> dict[str, str]:
    """Return the mark of each part that was on the crank, '' where none is given."""
    found: dict[str, str] = {}
    for text in texts:
        part, _, mark = (one.strip() for one in text.partition(":"))
        if part not in turning:
            sentence = f"'{_plain(part)}' is not among the parts that turn with this crank."
            raise EntryError(sentence, hint=f"They are {', '.join(turning)}.")
        found[part] = mark
    return found


def _residuals(texts: Sequence[str]) -> tuple[PlaneResidual, ...]:
    found: list[PlaneResidual] = []
    said = [text for text in texts if text.strip()]
    for text in said:
        before, mark, angle = text.partition("@")
        if whole := _of_all_planes(before, alone=len(said) == 1 and not mark):
            return whole
        plane, amount = _named(before, _UNBALANCE, "front 120 g·mm @ 40 deg")
        if plane.casefold() in {one.plane.casefold() for one in found}:
            sentence = f"The plane '{_plain(plane)}' stands on the card twice."
            raise EntryError(sentence, hint="Give each plane a name of its own.")
        found.append(PlaneResidual(plane=plane, amount=amount, angle=_angle(angle, bool(mark))))
    if not found:
        sentence = "The card says nothing of what is left."
        raise EntryError(sentence, hint="Write each plane as 'front 120 g·mm @ 40 deg'.")
    _one_unit([one.amount for one in found], _UNBALANCE, "The planes")
    return tuple(found)


def _of_all_planes(text: str, *, alone: bool) -> tuple[PlaneResidual, ...]:
    """Read '0.2 oz·in per plane' or '0.4 oz·in in total'; nothing where neither is said."""
    bare, each = planes_said(text)
    if each is None or not bare[:1].isdigit():
        return ()
    if not alone:
        sentence = f"'{_plain(text)}' stands for all planes, with no angle and no line beside it."
        raise EntryError(sentence, hint="Or write each plane as 'front 120 g·mm @ 40 deg'.")
    amount = typed_as(bare, _UNBALANCE)
    names = ("front", "rear") if each else ("in total",)
    return tuple(PlaneResidual(plane=name, amount=amount, angle=None) for name in names)


def _one_unit(values: Sequence[Typed], dimension: Dimension, what: str) -> None:
    units = {parse(one.text, dimension).unit for one in values}
    if len(units) > 1:
        sentence = f"{what} of this card are in {' and '.join(sorted(units))}."
        raise EntryError(sentence, hint="Ask the shop which unit holds, and write one for all.")


def _angle(text: str, said: bool) -> Typed | None:  # noqa: FBT001
    if not said:
        return None
    angle = parse(text.strip(), Dimension.ANGLE, default_unit="deg")
    return Typed(text=text.strip(), si=angle.value)


def _line(text: str) -> CardLine:
    """Read 'big end 2 x 432 g'; without a count it stands once."""
    before, mark, weight = text.replace("×", " x ").rpartition(" x ")
    words = before.split()
    if not mark:
        name, value = _named(text, _WEIGHT, "big end 2 x 432 g")
        return CardLine(name=name, value=value, times=1.0)
    try:
        times = float(words[-1].replace(",", "."))
    except (ValueError, IndexError):
        times = -1.0
    if not 0 < times <= 64 or len(words) < 2:
        sentence = f"'{_plain(text)}' is no line of a card."
        raise EntryError(sentence, hint="Write it as 'big end 2 x 432 g'.")
    value = typed_as(weight.strip(), _WEIGHT)
    return CardLine(name=" ".join(words[:-1]), value=value, times=times)


def _named(text: str, dimension: Dimension, right: str) -> tuple[str, Typed]:
    """Split a name from the quantity that follows it."""
    words = text.split()
    begins = (word.lstrip("+-−")[:1] for word in words)
    first = next((n for n, one in enumerate(begins) if one.isdigit() or one == "."), 0)
    if first == 0:
        sentence = f"'{_plain(text)}' does not begin with a name and go on with a figure."
        raise EntryError(sentence, hint=f"Write it as '{right}'.")
    value = typed_as(" ".join(words[first:]), dimension)
    if value.si < 0:
        sentence = f"'{_plain(value.text)}' is below nothing."
        raise EntryError(sentence, hint="Check the sign.")
    return " ".join(words[:first]), value
