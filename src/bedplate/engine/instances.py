"""From what a file declares to this engine's features and fits, number by number."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bedplate.engine.declared import FitTable, OwnFeature, StationsTable
from bedplate.engine.feature_making import FeatureMaker, feature_id, numbered
from bedplate.engine.features import FEATURE_KINDS, Per
from bedplate.engine.fits import FitForm, Way, formula_of
from bedplate.engine.lines import Path, dotted
from bedplate.engine.model import Feature, Fit, Layout, Limit
from bedplate.engine.sheet import Sheet
from bedplate.engine.sizes import Sizes
from bedplate.quantity import Units


@dataclass(slots=True)
class Fitter:
    """Makes the features and the fits of one engine.

    :param materials: name of the material by key of [materials], or by `own_material_key`
    """

    sheet: Sheet
    layout: Layout
    sizes: Sizes
    units: Units
    materials: dict[str, str]
    stations: Sequence[StationsTable]
    tables: Sequence[FitTable]
    own: Sequence[OwnFeature]
    features: dict[str, Feature] = field(default_factory=dict)
    fits: dict[str, Fit] = field(default_factory=dict)
    doubled: set[tuple[int, int]] = field(default_factory=set)

    def numbers(self, per: Per) -> tuple[str, ...]:
        """Return the numbers or labels that an engine has of something."""
        if per is Per.ENGINE:
            return ("",)
        if per is Per.MAIN:
            return tuple(str(n) for n in range(1, self.layout.mains + 1))
        if per is Per.CRANKPIN:
            return tuple(str(n) for n in range(1, self.layout.crankpins + 1))
        if per is Per.BANK:
            return tuple(sorted({cylinder.bank for cylinder in self.layout.cylinders}))
        return tuple(cylinder.label for cylinder in self.layout.cylinders)

    def make(self) -> None:
        """Make every feature that is asked for, then every fit."""
        wanted = self._wanted()
        makers = FeatureMaker(self)
        for kind in FEATURE_KINDS.values():
            for number in self.numbers(kind.per):
                if number in wanted.get(kind.name, ()):
                    makers.make(kind, number)
        for own in self.own:
            for number in self.only(own.path, own.per):
                makers.make_own(own, number)
        for table in self.tables:
            for number in self._paired(table, self.only(table.path, table.kind.per)):
                self._fit(table, number)
        for own in self.own:
            for number in self.only(own.path, own.per, silent=True):
                self._own_fit(own, number)

    def _wanted(self) -> dict[str, set[str]]:
        wanted: dict[str, set[str]] = {}
        for table in self.tables:
            for number in self.only(table.path, table.kind.per, silent=True):
                for way in self.ways(table, number):
                    for kind, its_number in way:
                        wanted.setdefault(kind, set()).add(its_number)
        for placed in self.stations:
            known = FEATURE_KINDS.get(placed.feature)
            if known:
                wanted.setdefault(known.name, set()).update(self.only(placed.path, known.per))
        return wanted

    def only(self, path: Path, per: Per, *, silent: bool = False) -> tuple[str, ...]:
        """Return the numbers that `only` leaves; what it names that is not there is a fault."""
        key = (*path, "only")
        given = self.sheet.value(key)
        numbers = self.numbers(per)
        if given is None:
            return numbers
        names = given if isinstance(given, list) else [given]
        found = {number for name in names for number in self._named(str(name).strip(), per)}
        unknown = [str(name) for name in names if not self._named(str(name).strip(), per)]
        thrust_unsaid = self.sheet.value(("mains", "thrust")) is None
        if silent or not unknown:
            pass
        elif per is Per.MAIN and thrust_unsaid and any("thrust" in name for name in unknown):
            wrong = "[mains] does not say which main takes the thrust"
            self.sheet.fault(key, wrong, "write thrust = 3 there, or whichever it is")
        else:
            right = f"there are {', '.join(numbers)}" if per is not Per.ENGINE else "leave it out"
            self.sheet.fault(key, f"there is no {per.value} {', '.join(unknown)}", right)
        return tuple(number for number in numbers if number in found)

    def _named(self, name: str, per: Per) -> tuple[str, ...]:
        numbers = self.numbers(per)
        thrust = str(self.sheet.value(("mains", "thrust")) or "")
        if per is Per.MAIN and re.fullmatch(r"(the )?thrust( main)?", name):
            return (thrust,) if thrust else ()
        if per is Per.MAIN and re.fullmatch(r"all but (the )?thrust( main)?", name):
            return tuple(n for n in numbers if n != thrust) if thrust else ()
        return (name,) if name and name in numbers else ()

    def ways(self, table: FitTable, number: str) -> list[list[tuple[str, str]]]:
        """Return each way to a fit as (kind of feature, number), the space first."""
        kind = table.kind
        if not kind.ways:
            return [[(kind.feature, number)]]
        return [
            [
                (name, its_number)
                for name in (kind.ways[index].space, *kind.ways[index].bodies)
                for its_number in self._numbers_of(name, kind.per, number)
            ]
            for index in table.ways
        ]

    def _numbers_of(self, feature: str, per: Per, number: str) -> tuple[str, ...]:
        """Return the numbers of a feature that stand behind a number of a fit."""
        known = FEATURE_KINDS.get(feature)
        own_per = known.per if known else per
        cylinders = self.layout.cylinders
        if own_per is per:
            return (number,)
        if own_per is Per.ENGINE:
            return ("",)
        if per is Per.CYLINDER:
            cylinder = next(c for c in cylinders if c.label == number)
            return (str(cylinder.crankpin) if own_per is Per.CRANKPIN else cylinder.bank,)
        return tuple(c.label for c in cylinders if str(c.crankpin) == number)

    def _paired(self, table: FitTable, numbers: tuple[str, ...]) -> tuple[str, ...]:
        """Return the numbers for which what a fit names is there; where it is not is a fault."""
        whole = True
        declared = {own.name for own in self.own}
        for key, name in zip(("hole", "shaft"), table.pair or (), strict=False):
            lacking = [n for n in numbers if feature_id(name, n) not in self.features]
            whole = whole and not lacking
            if lacking and name in declared:
                wrong = f"there is no '{name}' {', '.join(lacking)}"
                right = "say with `only` which numbers the fit holds for, or add the feature there"
                self.sheet.fault((*table.path, key), wrong, right)
        return numbers if whole else ()

    def _fit(self, table: FitTable, number: str) -> None:
        kind = table.kind
        base = table.name or kind.name
        name = numbered(base, self.shown(kind.per, number))
        named = self.ways(table, number)
        ways = tuple(
            Way(ids[0], tuple(ids[1:]))
            for ids in ([feature_id(*one) for one in way] for way in named)
        )
        formula = kind.formula
        if kind.ways:
            formula = formula_of(kind.sense, [[feature for feature, _ in way] for way in named])
        self._check_axis(table, ways)
        self._add(
            table.path,
            Fit(
                id=feature_id(base, number),
                kind=kind.name,
                form=kind.form,
                sense=kind.sense,
                formula=formula,
                per=kind.per,
                number=number,
                name=name,
                gate=kind.gate,
                ways=ways,
                directions=table.directions,
                depth=table.depth,
                limits=table.limits,
                target=table.target,
                condition=table.state,
                source=table.source,
                line=table.line,
            ),
        )

    def _check_axis(self, table: FitTable, ways: Iterable[Way]) -> None:
        key = (*table.path, "axis")
        if self.sheet.value(key) is None or any(f.key == dotted(key) for f in self.sheet.faults):
            return
        there = {s.direction for way in ways for s in self.features[way.space].stations}
        for direction in table.directions:
            if direction not in there:
                right = f"its stations lie at {', '.join(sorted(there - {''})) or 'no direction'}"
                self.sheet.fault(key, f"no station lies at '{direction}'", right)

    def _own_fit(self, own: OwnFeature, number: str) -> None:
        if own.limits is None:
            return
        self._add(
            own.path,
            Fit(
                id=feature_id(own.name, number),
                kind="own",
                form=FitForm.SIZE,
                sense="size",
                formula=f"{own.name} as measured",
                per=own.per,
                number=number,
                name=numbered(own.name, self.shown(own.per, number)),
                gate=own.gate,
                ways=(Way(feature_id(own.name, number), ()),),
                directions=(),
                depth=None,
                limits=(Limit(own.limits),),
                target=own.target,
                condition=own.state,
                source=own.source,
                line=own.line,
            ),
        )

    def _add(self, path: Path, fit: Fit) -> None:
        earlier = self.fits.get(fit.id)
        if earlier is None:
            self.fits[fit.id] = fit
        elif earlier.line != fit.line and (earlier.line, fit.line) not in self.doubled:
            self.doubled.add((earlier.line, fit.line))
            self.sheet.fault(
                (*path, "name" if fit.kind == "own" else "kind"),
                f"{fit.name} already has its limits on line {earlier.line}",
                "give this one a name of its own, or say with `only` which numbers it holds for",
            )

    def shown(self, per: Per, number: str) -> str:
        """Return the number as a name shows it: a single bank has none."""
        return "" if per is Per.BANK and len(self.numbers(per)) == 1 else number
