"""Balance and torsion, ready to be printed."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bedplate.documents.balance_card import (
    card_contents,
    critical_rows,
    excitation_rows,
    mode_rows,
    model_rows,
    sums,
    worst_words,
)
from bedplate.documents.balance_picture import throws_picture
from bedplate.documents.mode_picture import mode_shapes_picture
from bedplate.documents.paper import Tree
from bedplate.documents.torsion_picture import speed_order_picture, twist_picture
from bedplate.errors import InputError
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.record.entries import TorsionMeasured
from bedplate.shop.balance.bob_weight import bob_weight_card
from bedplate.shop.balance.card_check import check_card
from bedplate.shop.balance.ledger import SAID, Ledger, LedgerPart, Standing, ledger_of
from bedplate.shop.balance.shaking import shaking_of
from bedplate.shop.balance.weights import PARTS, ROD, weights_of
from bedplate.shop.model import State
from bedplate.shop.torsion.measured import KINDS, measured_of
from bedplate.shop.torsion.report import TorsionReport, torsion_of


def _drawn(svg: str) -> Markup:
    return Markup(svg)  # noqa: S704 - our own drawing


@dataclass(frozen=True, slots=True)
class PartView:
    """A part that turns, with what can be said of it."""

    part: LedgerPart
    residual: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShakeView:
    """What the engine shakes with.

    :param missing: why it is not known, '' if it is
    """

    missing: str
    hint: str = ""
    speed: str = ""
    shafts: bool = False
    rows: tuple[tuple[str, ...], ...] = ()
    unknown: tuple[str, ...] = ()
    pictures: tuple[tuple[str, Markup], ...] = ()


@dataclass(frozen=True, slots=True)
class BalanceView:
    """The page of balance."""

    ledger: Ledger
    parts: tuple[PartView, ...]
    card: Tree
    throws: Markup
    remarks: tuple[tuple[bool, str], ...]
    shaking: ShakeView
    weighable: tuple[str, ...]
    labels: tuple[str, ...]
    left: str
    scale: str
    lines: tuple[str, ...] = (*PARTS, "oil")


def balance_view(state: State) -> BalanceView:
    """Return the page of balance."""
    engine = state.engine
    ledger = ledger_of(state)
    weights = weights_of(engine, state)
    card = bob_weight_card(engine, weights)
    remarks = () if ledger.card is None else check_card(state, ledger.card, card)
    scale = engine.balancing.figure("balance.scale")
    left = ""
    if ledger.allowance is not None:
        amount = show_both(ledger.allowance.left, Dimension.UNBALANCE, state.units)
        left = f"{amount} left to give{ledger.allowance.shared}; {ledger.allowance.words}."
    return BalanceView(
        ledger=ledger,
        parts=tuple(_part(part, state) for part in ledger.parts),
        card=card_contents(state),
        throws=_drawn(throws_picture(engine, card.throws)),
        remarks=tuple((remark.fine, remark.sentence) for remark in remarks),
        shaking=_shaking(state),
        weighable=(*PARTS, ROD, *engine.balancing.turning),
        labels=weights.labels,
        left=left,
        scale=scale.text if scale else "",
    )


def _part(part: LedgerPart, state: State) -> PartView:
    barred = {Standing.ON_ITS_OWN, Standing.NOT_FITTED} if part.weighted else {Standing.MATCHED}
    residual = ""
    if part.residual is not None:
        residual = show_both(part.residual, Dimension.UNBALANCE, state.units)
    return PartView(part, residual, tuple(one.value for one in SAID if one not in barred))


def _shaking(state: State) -> ShakeView:
    try:
        found = shaking_of(state.engine, state)
    except InputError as error:
        return ShakeView(error.sentence, error.hint)
    units = state.units
    rows = tuple(
        (
            str(one.order),
            show_both(one.force.greatest, Dimension.FORCE, units, resolution=1.0),
            show_both(one.couple.greatest, Dimension.TORQUE, units, resolution=1.0),
            show_both(bare.force.greatest, Dimension.FORCE, units, resolution=1.0),
            show_both(bare.couple.greatest, Dimension.TORQUE, units, resolution=1.0),
        )
        for one, bare in zip(found.orders, found.bare, strict=True)
    )
    return ShakeView(
        "", "", show(found.speed, Dimension.ROTATION, units), bool(found.shafts), rows,
        found.train.unknown,
        tuple((title, _drawn(svg)) for title, svg in sums(state, found)),
    )  # fmt: skip


_NOT_COMPILED = (
    "No twist yet: the kernels for the pressure in the cylinder are not compiled on this machine. "
    "The page of duty compiles them, once"
)


@dataclass(frozen=True, slots=True)
class TorsionView:
    """The page of torsion.

    :param missing: why nothing is known, '' if something is
    """

    missing: str
    hint: str = ""
    stiffness: str = ""
    formulas: tuple[tuple[str, str], ...] = ()
    damper: str = ""
    modes: tuple[tuple[str, ...], ...] = ()
    criticals: tuple[tuple[str, ...], ...] = ()
    worst: tuple[str, ...] = ()
    gas: str = ""
    damping: str = ""
    model: tuple[tuple[str, ...], ...] = ()
    drives: tuple[tuple[str, ...], ...] = ()
    driver: str = ""
    doubts: tuple[str, ...] = ()
    measured: bool = False
    taken: tuple[tuple[str, ...], ...] = ()
    kinds: tuple[str, ...] = tuple(KINDS)
    sources: tuple[tuple[str, str, str], ...] = ()
    pictures: tuple[tuple[str, Markup], ...] = ()


def _taken(state: State) -> tuple[tuple[str, ...], ...]:
    """Return what was measured in torsion and counts: entry, what, value, doubt, with what, who."""
    numbers = set(measured_of(state).numbers.values())
    return tuple(
        (
            str(row.number), entry.what, entry.value.text,
            entry.uncertainty.text if entry.uncertainty else "", entry.instrument, entry.by,
        )
        for row in state.entries
        if row.number in numbers and isinstance(entry := row.entry, TorsionMeasured)
    )  # fmt: skip


def _driver(found: TorsionReport) -> str:
    drives = found.excitation
    if drives is None:
        return ""
    return f"cylinder {drives.cylinder} at {show(drives.speed, Dimension.ROTATION, Units.METRIC)}"


def torsion_view(state: State) -> TorsionView:
    """Return the page of torsion."""
    from bedplate.physics._compiled import is_compiled

    ready = is_compiled()
    try:
        found = torsion_of(state.engine, state, with_twist=ready)
    except InputError as error:
        return TorsionView(error.sentence, error.hint)
    pictures = [
        ("Orders, natural frequencies and critical speeds", speed_order_picture(found)),
        ("Twist of the free end over speed", twist_picture(found)),
        ("How the first modes swing", mode_shapes_picture(found)),
    ]
    if found.crank.damper != "none":
        bare = speed_order_picture(found, damped=False)
        pictures.insert(1, ("The same without the damper", bare))
    return TorsionView(
        missing="",
        stiffness=found.crank.stiffness_from,
        formulas=tuple(
            (name, show(value, Dimension.TORSIONAL_STIFFNESS, state.units))
            for name, value in found.crank.formulas
        ),
        damper=found.crank.damper,
        modes=tuple(tuple(row) for row in mode_rows(found)),
        criticals=tuple(tuple(row) for row in critical_rows(found)),
        worst=tuple(worst_words(found)),
        gas=found.gas_note if ready else _NOT_COMPILED,
        damping=found.crank.damping.words,
        model=tuple(tuple(row) for row in model_rows(found)),
        drives=tuple(tuple(row) for row in excitation_rows(found)),
        driver=_driver(found),
        doubts=found.crank.doubts,
        measured=found.crank.measured,
        taken=_taken(state),
        sources=tuple(
            (name, f"{value.value:.5g}", f"{value.source}; {value.how.value}")
            for name, value in found.crank.sources
        ),
        pictures=tuple((title, _drawn(svg)) for title, svg in pictures if svg),
    )
