"""The machine-shop order, worked out from the engine file and from the parts as measured."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from math import pi

from bedplate.engine import Feature
from bedplate.engine.orders import Work, WorkStation
from bedplate.engine.stations import slug
from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, Units, parse, show, show_both, show_range
from bedplate.record.entries import OrderRow, PartReceived, SelectionMade
from bedplate.record.standing import standing
from bedplate.shop.evaluate import counting
from bedplate.shop.lines import lines_hash
from bedplate.shop.model import State
from bedplate.shop.order_sizes import (
    at_reference,
    measured_after,
    middle_of,
    moved,
    rounded,
    warm_words,
)
from bedplate.shop.stock import stock_of
from bedplate.shop.undersizes import undersize_words
from bedplate.wording import capital

_NUMERIC = 1e-10
"""m: sizes that are closer are the same."""


@dataclass(frozen=True, slots=True)
class Draft:
    """An order as it would be issued now.

    :param rows: in the order of the work
    :param conditions: sentences for a station, each begins with the station's name
    """

    rows: tuple[OrderRow, ...]
    conditions: tuple[str, ...]

    @property
    def derived(self) -> str:
        """Return the SHA-256 of what the rows were worked out from."""
        return basis_hash(self.rows)


def basis_hash(rows: Iterable[OrderRow]) -> str:
    """Return the SHA-256 of every row's name and basis."""
    return lines_hash(f"{row.row}\t{row.basis}" for row in rows)


def draft(state: State) -> Draft:
    """Return the order that the engine file and the parts as measured give now."""
    rows: dict[str, OrderRow] = {}
    conditions: list[str] = []
    shop = _Shop(state, _identities(state))
    for work in state.engine.machining.work:
        station = work.station.value
        conditions += [f"{station}: {name}: {text}" for name, text in work.states]
        for row in shop.rows(work):
            named = row if row.row not in rows else _renamed(row, f"{slug(station)}-{row.row}")
            rows[named.row] = named
    return Draft(tuple(rows.values()), tuple(conditions))


def _renamed(row: OrderRow, name: str) -> OrderRow:
    import msgspec

    return msgspec.structs.replace(row, row=name)


def _identities(state: State) -> dict[str, tuple[str, int]]:
    """Return which physical part each part of the engine is, and the entry that chose it.

    The entry is 0 where it was only said which part came: readings of it hold whenever they were
    taken. A part that a selection chose was measured as that part only after the choice.
    """
    found: dict[str, tuple[str, int]] = {}
    for row in standing(state.entries):
        entry = row.entry
        if isinstance(entry, PartReceived):
            found[entry.part] = (entry.identity, 0)
        elif isinstance(entry, SelectionMade):
            found.update({one.place: (one.identity, row.number) for one in entry.placed})
    return found


_SHOWN = 0.3e-6
"""m: what a basis is written to, so that a change that matters is a change of the text."""


@dataclass(frozen=True, slots=True)
class _Shop:
    """Makes the rows of an order.

    :param identities: of parts, by part, each with the entry that chose it
    """

    state: State
    identities: dict[str, tuple[str, int]]

    def rows(self, work: Work) -> Iterator[OrderRow]:
        makers: dict[WorkStation, Callable[[Work], Iterator[OrderRow]]] = {
            WorkStation.MAIN_TUNNEL: self._tunnel,
            WorkStation.BORING: self._bores,
            WorkStation.DECK: self._deck,
            WorkStation.CRANK: self._crank,
            WorkStation.RODS: self._rods,
        }
        if work.station in makers:
            yield from makers[work.station](work)
        yield from self._surfaces(work)
        for name, asked in work.asks:
            yield OrderRow(
                row=slug(name), station=work.station.value, name=capital(name), quantity="words",
                words=asked, waits_for=work.waits_for.get(name, ""),
            )  # fmt: skip

    def _size(self, value: float) -> str:
        return show(value, Dimension.LENGTH, self.state.units, uncertainty=_SHOWN)

    # ---- what stations share

    def _form(self, work: Work, kind: str, number: str, feature: Feature) -> Iterator[OrderRow]:
        """Yield the most that a feature may be out of round and tapered, if limits say so."""
        for form in ("out-of-round", "taper"):
            fit = self.state.engine.fits.get(f"{slug(kind)}-{form}-{number}")
            if fit is not None:
                yield OrderRow(
                    row=fit.id, station=work.station.value, name=fit.name, quantity="length",
                    feature=feature.id, form=form, high=fit.limits[0].range.high,
                    words=_places(feature), condition=feature.condition, basis=fit.source,
                )  # fmt: skip

    def _limits_rows(self, work: Work, kind: str, words: str = "") -> Iterator[OrderRow]:
        """Yield a row for each feature of a kind, from the limits of its size."""
        for feature in self._features(kind):
            fit = self.state.engine.fits.get(feature.id)
            if fit is not None:
                limits = fit.limits[0].range
                aim = fit.target.value if fit.target else middle_of(limits.low, limits.high)
                yield self._row(work, feature, (limits.low, aim, limits.high), words, fit.source)
            yield from self._form(work, kind, feature.number, feature)

    def _features(self, kind: str) -> list[Feature]:
        return [f for f in self.state.engine.features.values() if f.kind == kind]

    def _row(
        self,
        work: Work,
        feature: Feature,
        sizes: tuple[float | None, float | None, float | None],
        words: str,
        basis: str,
        *,
        form: str = "size",
        waits_for: str = "",
        row: str = "",
        name: str = "",
    ) -> OrderRow:
        low, aim, high = (None if s is None else round(s, 10) for s in sizes)
        return OrderRow(
            row=row or feature.id, station=work.station.value, name=name or feature.name,
            quantity="length", feature=feature.id, form=form, low=low, aim=aim, high=high,
            words=words, condition=feature.condition, basis=basis, waits_for=waits_for,
        )  # fmt: skip

    def _within(
        self, work: Work, wanted: float, low: float | None, high: float | None
    ) -> tuple[float, float, float] | None:
        """Return low, aim, high of a finish size, or None if the shop cannot hold it in there.

        :param wanted: size that gives the target, m
        :param low, high: sizes at which the fit is just inside, m
        """
        aim = rounded(wanted, work.holds.value if work.holds else None)
        below = work.tolerance.low if work.tolerance else None
        above = work.tolerance.high if work.tolerance else None
        least = max([x for x in (low, None if below is None else aim + below) if x is not None],
                    default=aim)  # fmt: skip
        most = min([x for x in (high, None if above is None else aim + above) if x is not None],
                   default=aim)  # fmt: skip
        if not least - _NUMERIC <= aim <= most + _NUMERIC:
            return None
        return least, aim, most

    # ---- stations

    def _tunnel(self, work: Work) -> Iterator[OrderRow]:
        yield from self._limits_rows(work, "main housing")

    def _bores(self, work: Work) -> Iterator[OrderRow]:
        for feature in self._features("cylinder bore"):
            yield self._bore(work, feature)
        for feature in self._features("cylinder bore"):
            yield from self._form(work, "cylinder bore", feature.number, feature)
        if work.crosshatch is not None:
            hatch = work.crosshatch
            other = show_range(pi - hatch.high, pi - hatch.low, Dimension.ANGLE, Units.METRIC)
            yield OrderRow(
                row="crosshatch", station=work.station.value, name="Crosshatch", quantity="angle",
                low=hatch.low, high=hatch.high,
                words=f"included, about the horizontal; the same lines make {other} about the axis",
            )  # fmt: skip

    def _bore(self, work: Work, feature: Feature) -> OrderRow:
        number = feature.number
        fit = self.state.engine.fits.get(f"piston-clearance-{number}")
        words = _places(feature)
        if fit is None or fit.target is None:
            waits = "no target for the piston clearance is set"
            return self._row(work, feature, (None, None, None), words, "", waits_for=waits)
        piston = self._piston(number)
        if isinstance(piston, str):
            return self._row(work, feature, (None, None, None), words, "", waits_for=piston)
        size, basis = piston
        limits = fit.limits[0].range
        low = None if limits.low is None else size + limits.low
        high = None if limits.high is None else size + limits.high
        sizes = self._within(work, size + fit.target.value, low, high)
        basis += f"; clearance {fit.target.text} ({fit.source})"
        if sizes is None:
            waits = f"what the shop can hold does not fit into {fit.limits[0].range.text}"
            return self._row(work, feature, (None, None, None), words, basis, waits_for=waits)
        return self._row(work, feature, sizes, words, basis)

    def _piston(self, number: str) -> tuple[float, str] | str:
        """Return the piston's size at 20 °C and what that rests on, or what is still missing."""
        part = f"piston {number}"
        held = self.state.features.get(f"piston-{number}")
        identity, chosen = self.identities.get(part, ("", 0))
        named = f"{part} ({identity})" if identity else part
        place = held.feature.stations[0].name if held else ""
        size = at_reference(self.state, held) if held and measured_after(held, chosen) else None
        lot = stock_of(self.state).get(identity) if identity else None
        if lot is not None and lot.before_coating(place):
            return f"{named} was measured before it was coated; measure it again"
        if size is not None and held is not None:
            if held.size is not None and not held.size.complete:
                return f"{named} is not wholly measured"
            warm = warm_words(self.state, held)
            if warm:
                return f"{named} was measured at {warm}, and what it is at 20 °C is not known"
            noted = held.reduction is not None or self.state.engine.measuring.reduce
            taken = "at 20 °C" if noted else "taken as at 20 °C"
            return size, f"{named} {self._size(size)} {taken}, {place}"
        measured = lot.measure("size") if lot else None
        if measured is not None:
            return (
                measured.value.si,
                f"{named} {self._size(measured.value.si)} as on hand, {place}",
            )
        return f"{named} is not measured"

    def _deck(self, work: Work) -> Iterator[OrderRow]:
        for feature in self._features("deck height"):
            aim, basis = self._deck_aim(work)
            fit = self.state.engine.fits.get(feature.id)
            limits = fit.limits[0].range if fit else None
            held = self.state.features[feature.id]
            found = {s.station: float(s.value.nominal_value) for s in held.size.stations} \
                if held.size else {}  # fmt: skip
            for station in feature.stations:
                sizes: tuple[float | None, float | None, float | None] = (None, None, None)
                waits = basis if aim is None else ""
                if aim is not None:
                    inside = self._within(
                        work, aim, limits.low if limits else None, limits.high if limits else None
                    )
                    sizes = inside or sizes
                    waits = "" if inside else "the deck height wanted lies outside its limits"
                cut = found.get(station.id)
                words = "" if cut is None or aim is None else (
                    f"{show_both(cut, Dimension.LENGTH, Units.METRIC)} as found: "
                    f"take off {show_both(max(cut - aim, 0.0), Dimension.LENGTH, Units.METRIC)}"
                )  # fmt: skip
                yield self._row(
                    work, feature, sizes, words, "" if aim is None else basis,
                    form=f"at {station.id}", row=f"{feature.id}-{station.id}",
                    name=f"{feature.name}, {station.name}", waits_for=waits,
                )  # fmt: skip

    def _deck_aim(self, work: Work) -> tuple[float | None, str]:
        """Return the deck height wanted and what it rests on, or None and what is missing."""
        engine, facts = self.state.engine, dict(self.state.engine.facts)
        text = facts.get("compression height", "")
        try:
            piston = parse(text, Dimension.LENGTH).value if text else None
        except QuantityError:
            piston = None
        if piston is None:
            return None, "the pistons' compression height is not given"
        if work.squish is not None and work.gasket_thickness is not None:
            below = work.squish.value - work.gasket_thickness.value
            why = f"squish {work.squish.text} less gasket {work.gasket_thickness.text}"
        else:
            targets = [
                f.target for f in engine.fits.values() if f.kind == "deck clearance" and f.target
            ]
            if not targets:
                return None, "neither squish nor deck clearance has a target"
            below, why = targets[0].value, f"deck clearance {targets[0].text}"
        aim = engine.stroke / 2 + engine.rod + piston + below
        return aim, (
            f"half the stroke {self._size(engine.stroke / 2)} + rod {self._size(engine.rod)} "
            f"+ compression height {text} + {why}"
        )

    def _crank(self, work: Work) -> Iterator[OrderRow]:
        for kind, bore, clearance, under in (
            ("main journal", "main bearing bore", "main clearance", work.undersize),
            ("crankpin", "rod bearing bore", "rod clearance", work.pin_undersize or work.undersize),
        ):
            said = undersize_words(under) if under else ""
            for feature in self._features(kind):
                yield self._shaft(work, feature, bore, clearance, said)
            for feature in self._features(kind):
                yield from self._form(work, kind, feature.number, feature)
        if work.fillet is not None:
            yield OrderRow(
                row="fillet", station=work.station.value, name="Fillets, every journal and pin",
                quantity="length", low=work.fillet.low, high=work.fillet.high,
            )  # fmt: skip
        if work.polish:
            yield OrderRow(
                row="polish", station=work.station.value, name="Polish", quantity="words",
                words=work.polish,
            )  # fmt: skip

    def _shaft(
        self, work: Work, feature: Feature, bore: str, clearance: str, said: str
    ) -> OrderRow:
        """Return the row of a journal or a pin: from its bearing's bore if that is measured."""
        engine = self.state.engine
        for number in self._bearings(feature):
            held = self.state.features.get(f"{slug(bore)}-{number}")
            fit = engine.fits.get(f"{slug(clearance)}-{number}")
            if held is None or held.size is None or fit is None or fit.target is None:
                continue
            crown = counting(fit, held.feature, held.size)
            if crown is None or not crown.complete:
                continue
            size = float(crown.mean.nominal_value) + moved(self.state, held)
            limits = fit.limits[0].range
            sizes = self._within(
                work,
                size - fit.target.value,
                None if limits.high is None else size - limits.high,
                None if limits.low is None else size - limits.low,
            )
            wanted = f"clearance {fit.target.text} ({fit.source})"
            basis = f"{held.feature.name} {self._size(size)}, {wanted}"
            if sizes is None:
                waits = f"what the shop can hold does not fit into {limits.text}"
                return self._row(work, feature, (None,) * 3, said, basis, waits_for=waits)
            return self._row(work, feature, sizes, said, basis)
        fit = engine.fits.get(feature.id)
        if fit is None:
            waits = "its bearing bore is not measured, and no limits are given"
            return self._row(work, feature, (None,) * 3, said, "", waits_for=waits)
        limits = fit.limits[0].range
        aim = fit.target.value if fit.target else middle_of(limits.low, limits.high)
        basis = f"{fit.source}; the bearing bore is not measured"
        return self._row(work, feature, (limits.low, aim, limits.high), said, basis)

    def _bearings(self, feature: Feature) -> tuple[str, ...]:
        """Return the numbers of the bearings that run on a journal or a pin."""
        if feature.kind == "main journal":
            return (feature.number,)
        cylinders = self.state.engine.layout.cylinders
        return tuple(c.label for c in cylinders if str(c.crankpin) == feature.number)

    def _rods(self, work: Work) -> Iterator[OrderRow]:
        yield from self._limits_rows(work, "rod housing")
        for feature in self._features("small end"):
            fit = self.state.engine.fits.get(f"pin-in-rod-{feature.number}")
            pin = self.state.features.get(f"piston-pin-{feature.number}")
            size = at_reference(self.state, pin) if pin else None
            if fit is None:
                continue
            if size is None:
                waits = f"piston pin {feature.number} is not measured"
                yield self._row(work, feature, (None,) * 3, "", "", waits_for=waits)
                continue
            limits = fit.limits[0].range
            low, high = (None if x is None else size + x for x in (limits.low, limits.high))
            aim = size + fit.target.value if fit.target else middle_of(low, high)
            basis = f"piston pin {feature.number} {self._size(size)}, clearance {limits.text}"
            yield self._row(work, feature, (low, aim, high), "", basis)

    def _surfaces(self, work: Work) -> Iterator[OrderRow]:
        for surface in work.surfaces:
            cutoff = f"cut-off {work.cutoff.text}; " if work.cutoff else ""
            yield OrderRow(
                row=f"{slug(work.station.value)}-{surface.name.lower()}",
                station=work.station.value, name=surface.name, quantity="surface",
                low=surface.range.low, high=surface.range.high,
                words=f"{cutoff}ISO 21920-2, formerly ISO 13565-2"
                if surface.name != "Ra" else f"{cutoff}ISO 21920-2",
            )  # fmt: skip


def _places(feature: Feature) -> str:
    """Return where a feature is measured, in words."""
    sections = (re.sub(r"(?<=\d)(?=[a-z])", " ", s.section) for s in feature.stations)
    depths = list(dict.fromkeys(section.replace("-", " ") for section in sections if section))
    ways = list(dict.fromkeys(s.direction for s in feature.stations if s.direction))
    said = [", ".join(part) for part in (depths, ways) if part]
    return f"measured at {'; '.join(said)}" if said else ""
