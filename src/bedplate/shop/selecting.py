"""Which half shell goes where: from the state to the question, and what came of the answer."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot
from typing import TYPE_CHECKING

from bedplate.engine.orders import ShellFamily, ShellRule
from bedplate.errors import EntryError, NotPossibleError
from bedplate.metrology import standard_uncertainty
from bedplate.metrology.sources import combine
from bedplate.quantity import Dimension, Units, parse, show
from bedplate.record.entries import Placed as PlacedEntry
from bedplate.record.entries import Prediction, Reading, RingFiled, SelectionMade, Withdrawn
from bedplate.shop.dependence import renewals
from bedplate.shop.evaluate import counting
from bedplate.shop.facts import gather
from bedplate.shop.model import FitState, Question, QuestionKind, State
from bedplate.shop.rings import GROOVES
from bedplate.shop.selection_codes import (
    CodeFamily,
    IndependentHalves,
    Matrix,
    SumOfCodes,
)
from bedplate.shop.selection_model import (
    Bearing,
    Estimate,
    Grade,
    HalfShell,
    Proof,
    Role,
    ShellRules,
    Side,
)
from bedplate.shop.stock import Lot, stock_of

if TYPE_CHECKING:
    from bedplate.shop.selection_model import ShellSelection

SHELLS: dict[str, Role] = {"main shells": "main", "rod shells": "rod"}
"""What can be selected of half shells, and the bearings they lie in."""

_SAME_UNDERSIZE = 1e-6
"""m: 0.25 mm and 0.010 in are not one undersize."""

_WALL_KNOWN_TO = 2.0
"""k of the uncertainty of a wall on hand."""


@dataclass(frozen=True, slots=True)
class Codes:
    """Codes read off block or rods, and off the crank, one for each bearing, by its number."""

    housing: dict[str, str] = field(default_factory=dict)
    shaft: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ShellQuestion:
    """Everything a selection of half shells is worked out from.

    :param fits: id of the clearance of each bearing
    :param missing: why a bearing or a shell is left out, a sentence each
    :param basis: what it rests on, a line each
    :param codes_read: (bearing, code of its housing, of its shaft, grades asked for)
    :param read_from: end at which the rows of codes begin: 'front' or 'rear'
    """

    what: str
    bearings: tuple[Bearing, ...]
    shells: tuple[HalfShell, ...]
    rules: ShellRules
    catalogue: tuple[Grade, ...]
    fitted: dict[str, tuple[str, str]]
    fits: dict[str, str]
    missing: tuple[str, ...]
    basis: tuple[str, ...]
    codes_read: tuple[tuple[str, str, str, str], ...] = ()
    read_from: str = ""


def code_family(family: ShellFamily) -> CodeFamily:
    """Return the table by which codes choose the grades of a family.

    :raises EntryError: the family is not chosen by codes
    """
    if family.rule is ShellRule.SUM:
        return SumOfCodes(
            {code: place for place, code in enumerate(family.housing_codes)},
            {code: place for place, code in enumerate(family.shaft_codes)},
            dict(enumerate(family.by_sum)),
        )
    if family.rule is ShellRule.MATRIX:
        return Matrix(family.by_codes)
    if family.rule is ShellRule.HALVES:
        return IndependentHalves(
            {code: family.by_codes[code, ""][0] for code in family.housing_codes},
            {code: family.by_codes["", code][1] for code in family.shaft_codes},
        )
    sentence = f"The engine file has no rule of codes for the {family.part}s."
    raise EntryError(sentence, hint="Measure housings and journals instead.")


def book_order(numbers: Sequence[str], read_from: str, begins: str) -> list[str]:
    """Return bearings in the direction in which the book reads their codes.

    :param numbers: of the bearings, 1 first
    :param read_from: end at which the row of codes begins: 'front' or 'rear'
    :param begins: end at which bearing 1 is: 'front' or 'rear'
    """
    return list(numbers) if read_from == begins else list(reversed(numbers))


def shell_question(state: State, what: str, codes: Codes | None = None) -> ShellQuestion:
    """Return what a selection of half shells is worked out from.

    :param what: one of SHELLS
    :raises EntryError: it is none of them
    """
    if what not in SHELLS:
        sentence = f"'{what}' cannot be selected."
        raise EntryError(sentence, hint=f"Choose {', '.join(SHELLS)}.")
    return _Asked(state, what, codes or Codes()).question()


class _Asked:
    """Gathers the bearings and the shells of one kind."""

    def __init__(self, state: State, what: str, codes: Codes) -> None:
        self._state = state
        self._what = what
        self._role = SHELLS[what]
        self._codes = codes
        families = state.engine.machining.shells
        self._families = [f for f in families if f.bearing == self._role]
        self._missing: list[str] = []
        self._basis: list[str] = []
        self._fits: dict[str, str] = {}
        self._codes_read: list[tuple[str, str, str, str]] = []

    def question(self) -> ShellQuestion:
        lots = stock_of(self._state)
        fitted = self._fitted(lots)
        bearings = tuple(self._bearings())
        shells = tuple(self._shells(lots, fitted))
        return ShellQuestion(
            what=self._what,
            bearings=bearings,
            shells=shells,
            rules=self._rules(),
            catalogue=tuple(self._catalogue()),
            fitted={n: pair for n, pair in fitted.items() if n in {b.id for b in bearings}},
            fits=self._fits,
            missing=tuple(self._missing),
            basis=tuple(self._basis),
            codes_read=tuple(self._codes_read),
            read_from=self._families[0].read_from if self._families else "",
        )

    def _numbers(self) -> list[str]:
        layout = self._state.engine.layout
        if self._role == "main":
            return [str(n) for n in range(1, layout.mains + 1)]
        return [cylinder.label for cylinder in layout.cylinders]

    def _family(self, number: str) -> ShellFamily | None:
        named = [f for f in self._families if number in f.only]
        return next(iter(named or [f for f in self._families if not f.only]), None)

    def _rules(self) -> ShellRules:
        """Return the rules of all tables of the bearing together, the strictest of each."""
        forbidden = {
            tuple(sorted(pair * 2 if len(pair) == 1 else pair))
            for family in self._families
            for pair in (tuple(p) for p in family.forbidden)
        }
        differences = [f.difference for f in self._families if f.difference is not None]
        return ShellRules(
            forbidden=frozenset((a, b) for a, b in forbidden),
            wall_difference=min(differences, default=None),
            thicker="loaded" if any(f.thicker for f in self._families) else "anywhere",
        )

    def _bearings(self) -> Iterator[Bearing]:
        kind = f"{self._role}-clearance"
        for number in self._numbers():
            name = f"{self._role} {number}"
            fit = self._state.fits.get(f"{kind}-{number}")
            if fit is None or fit.fit.target is None:
                self._missing.append(f"{name} has no clearance with a target")
                continue
            limits = fit.fit.limits[0].range
            if limits.low is None or limits.high is None:
                self._missing.append(f"{name} has no limits on both sides")
                continue
            made = self._bearing(number, name, fit, (limits.low, limits.high))
            if made is not None:
                self._fits[name] = fit.fit.id
                yield made

    def _bearing(
        self, number: str, name: str, fit: FitState, limits: tuple[float, float]
    ) -> Bearing | None:
        family = self._family(number)
        target = fit.fit.target.value if fit.fit.target else 0.0
        upper = lower = frozenset[str]()
        coded = family is not None and number in self._codes.housing
        if family is not None and coded:
            housing, shaft = self._codes.housing[number], self._codes.shaft[number]
            one, other = code_family(family).grades(housing, shaft)
            upper, lower = frozenset({one}), frozenset({other})
            self._basis.append(f"{name}: codes {housing} and {shaft} ask for {one} over {other}")
            self._codes_read.append((name, housing, shaft, f"{one} over {other}"))
        room = self._room(number, fit)
        if isinstance(room, str) and family is not None and coded:
            walls = [family.grades[grade] for grade in (*upper, *lower)]
            middle = sum((wall.low + wall.high) / 2 for wall in walls)
            room = Estimate(middle + target)
        if isinstance(room, str):
            self._missing.append(f"{name} is left out: {room}")
            return None
        self._basis.append(
            f"{name}: room for walls and oil {_mm(room.value)}, target {_mm(target)}"
        )
        return Bearing(
            id=name,
            role=self._role,
            walls=Estimate(room.value - target, room.uncertainty),
            target=target,
            low=limits[0],
            high=limits[1],
            groove=family.grooved if family else "",  # type: ignore[arg-type]
            upper_grades=upper,
            lower_grades=lower,
        )

    def _room(self, number: str, fit: FitState) -> Estimate | str:
        """Return housing less journal, or what is still to be measured."""
        state = self._state
        shaft_number = number
        if self._role == "rod":
            cylinder = next(c for c in state.engine.layout.cylinders if c.label == number)
            shaft_number = str(cylinder.crankpin)
        journal = "main-journal" if self._role == "main" else "crankpin"
        housing = state.features.get(f"{self._role}-housing-{number}")
        shaft = state.features.get(f"{journal}-{shaft_number}")
        for held, words in ((housing, "housing"), (shaft, "journal")):
            if held is None:
                return f"the engine file does not measure its {words}"
            if held.size is None or not held.size.complete:
                return f"{held.feature.name} is not wholly measured"
        if housing is None or shaft is None or housing.size is None or shaft.size is None:
            return "it is not measured"
        crown = counting(fit.fit, housing.feature, housing.size)
        if crown is None:
            return f"{housing.feature.name} is not measured at the crown"
        room = combine([(1.0, crown.mean), (-1.0, shaft.size.mean)])
        return Estimate(float(room.nominal_value), standard_uncertainty(room))

    def _shells(
        self, lots: Mapping[str, Lot], fitted: Mapping[str, tuple[str, str]]
    ) -> Iterator[HalfShell]:
        lying: dict[str, int] = {}
        for pair in fitted.values():
            for identity in pair:
                lying[identity] = lying.get(identity, 0) + 1
        for identity, lot in lots.items():
            if lot.entry.part != f"{self._role} shell":
                continue
            wall = self._other_undersize(lot) or self._wall(lot)
            if isinstance(wall, str):
                self._missing.append(f"'{identity}' is left out: {wall}")
                continue
            count = lot.left + lying.get(identity, 0)
            if count == 0:
                continue
            measured = lot.measure("wall") is not None
            how = "measured" if measured else f"grade {lot.entry.grade}"
            self._basis.append(f"{identity}: {count} × {_mm(wall.value)}, {how}")
            side: Side | None = None
            if lot.entry.half == "upper":
                side = "upper"
            elif lot.entry.half == "lower":
                side = "lower"
            yield HalfShell(
                id=identity,
                grade=lot.entry.grade,
                wall=wall,
                side=side,
                grooved=lot.entry.grooved == "yes",
                coated=lot.entry.coated == "yes",
                count=count,
                measured=measured,
            )

    def _other_undersize(self, lot: Lot) -> str:
        """Say that shells are for another undersize than this crank has, '' if they are not."""
        wanted, asked = self._undersize(), lot.entry.undersize
        has = asked.si if asked else 0.0
        if asked is None or abs(has - wanted) < _SAME_UNDERSIZE:
            return ""
        if wanted == 0.0:
            return f"it is for {asked.text} under, and the engine file says of no undersize"
        return f"it is for {asked.text} under, and the crank is {_mm(wanted)} under"

    def _undersize(self) -> float:
        """Return the undersize of the crank, m: of its part of the engine file, or of the order."""
        section = "main" if self._role == "main" else "rod"
        text = dict(self._state.engine.facts).get(f"{section} undersize", "")
        if text:
            return parse(text, Dimension.LENGTH).value
        for work in self._state.engine.machining.work:
            both = (work.pin_undersize, work.undersize) if section == "rod" else (work.undersize,)
            for held in both:
                if held is not None:
                    return held.value
        return 0.0

    def _wall(self, lot: Lot) -> Estimate | str:
        held = lot.measure("wall")
        if held is not None:
            if held.uncertainty is None:
                return "nobody said how well its wall is known"
            if lot.before_coating():
                return "its wall was measured before it was coated"
            return Estimate(held.value.si, held.uncertainty.si / _WALL_KNOWN_TO)
        grades = [f.grades[lot.entry.grade] for f in self._families if lot.entry.grade in f.grades]
        if not grades:
            return "neither its wall nor a grade of the engine file is known"
        grade = grades[0]
        return Estimate.within((grade.low + grade.high) / 2, (grade.high - grade.low) / 2)

    def _catalogue(self) -> Iterator[Grade]:
        for family in self._families:
            sides: tuple[Side, ...] = ("upper", "lower")
            grooved = sides if family.grooved == "both" else tuple(
                side for side in sides if side == family.grooved
            )  # fmt: skip
            for grade in family.grades.values():
                middle, half = (grade.low + grade.high) / 2, (grade.high - grade.low) / 2
                yield Grade(grade.name, Estimate.within(middle, half), "", sides, grooved)

    def _fitted(self, lots: Mapping[str, Lot]) -> dict[str, tuple[str, str]]:
        """Return the bearings whose two halves lie in them already."""
        places: dict[str, str] = {}
        for identity, lot in lots.items():
            for place, _ in lot.used:
                places[place] = identity
        pairs = {}
        for number in self._numbers():
            name = f"{self._role} {number}"
            upper, lower = places.get(f"{name} upper"), places.get(f"{name} lower")
            if upper and lower:
                pairs[name] = (upper, lower)
        return pairs


def _mm(value: float) -> str:
    return show(value, Dimension.LENGTH, Units.METRIC, resolution=1e-7)


def lines_hash(lines: Iterable[str]) -> str:
    """Return the SHA-256 of lines, each ended by a line feed."""
    digest = hashlib.sha256()
    for line in lines:
        digest.update(f"{line}\n".encode())
    return digest.hexdigest()


def proof_words(proof: Proof) -> str:
    """Say how good a selection is known to be."""
    if not proof.goals:
        return "nothing to choose"
    parts = []
    for goal in proof.goals:
        value = _goal(goal.value, goal.unit)
        if goal.gap == 0:
            parts.append(f"{goal.name} {value}, proved least")
        else:
            bound = _goal(goal.bound, goal.unit)
            parts.append(f"{goal.name} {value}, at least {bound} ({goal.gap:.0%} not proved)")
    return f"{proof.word}: {'; '.join(parts)}"


def _goal(value: float, unit: str) -> str:
    if unit == "m":
        return show(value, Dimension.LENGTH, Units.METRIC, resolution=1e-7)
    if unit == "kg":
        return show(value, Dimension.MASS, Units.METRIC, resolution=1e-5)
    return f"{value:g}"


def chosen_shells(
    question: ShellQuestion, found: ShellSelection, coverage: float
) -> tuple[tuple[PlacedEntry, ...], tuple[Prediction, ...]]:
    """Return what an entry keeps of a selection: the places, and what is predicted.

    :param coverage: k
    :raises NotPossibleError: nothing was placed
    """
    if not found.placed:
        raise NotPossibleError(found.why_not or "Nothing was placed.")
    places = tuple(
        PlacedEntry(place=f"{pair.bearing} {side}", identity=identity)
        for pair in found.placed
        for side, identity in (("upper", pair.upper), ("lower", pair.lower))
    )
    predicted = tuple(
        Prediction(
            fit=question.fits[pair.bearing],
            value=pair.clearance.value,
            expanded=coverage * pair.clearance.uncertainty,
        )
        for pair in found.placed
    )
    return places, predicted


@dataclass(frozen=True, slots=True)
class Outcome:
    """A prediction beside what was measured since; lengths in m.

    :param expanded: U of the difference; None where it is not measured
    :param off: the two differ by more than their uncertainty
    """

    fit: str
    name: str
    predicted: float
    predicted_expanded: float
    measured: float | None
    difference: float | None
    expanded: float | None
    off: bool


@dataclass(frozen=True, slots=True)
class SelectionState:
    """A selection, in the light of everything after it.

    :param changed: lines of its basis that are not so any more
    """

    made: SelectionMade
    number: int
    outcomes: tuple[Outcome, ...]
    changed: tuple[str, ...]


def selections_of(state: State) -> tuple[SelectionState, ...]:
    """Return the last selection of each kind."""
    return tuple(
        SelectionState(
            made,
            number,
            tuple(_outcomes(state, made, number)),
            tuple(_changed(state, made, number)),
        )
        for made, number in _latest(state)
    )


def _latest(state: State) -> Iterable[tuple[SelectionMade, int]]:
    """Return the last selection of each kind that stands, with its place in the record."""
    back = {n.entry.target for n in state.entries if isinstance(n.entry, Withdrawn)}
    last: dict[str, tuple[SelectionMade, int]] = {}
    for row in state.entries:
        if isinstance(row.entry, SelectionMade) and row.entry.id not in back:
            last[row.entry.what] = (row.entry, row.number)
    return last.values()


def _void(state: State, made: SelectionMade, number: int) -> dict[str, str]:
    """Return why what was predicted of a fit does not hold: a part under it was machined since."""
    renewed = renewals(state.engine, gather(state.entries))
    found: dict[str, str] = {}
    for prediction in made.predicted:
        fit = state.fits.get(prediction.fit)
        for way in fit.fit.ways if fit is not None else ():
            space = state.features[way.space].feature
            grounds = (space.id, *way.bodies)
            if space.kind in GROOVES:  # filing makes a gap stale too, and is no fault of the bore
                grounds = (f"cylinder-bore-{space.number}",)
            since, why = max((renewed.get(name, (0, "")) for name in grounds), default=(0, ""))
            if since > number:
                found[prediction.fit] = why
    return found


def _outcomes(state: State, made: SelectionMade, number: int) -> Iterator[Outcome]:
    void = _void(state, made, number)
    for prediction in made.predicted:
        fit = state.fits.get(prediction.fit)
        if fit is None or fit.fit.id in void:
            continue
        measured, unsure = _measured(state, fit, number)
        difference = None if measured is None else measured - prediction.value
        expanded = None if difference is None else hypot(prediction.expanded, unsure)
        yield Outcome(
            fit=fit.fit.id,
            name=fit.fit.name,
            predicted=prediction.value,
            predicted_expanded=prediction.expanded,
            measured=measured,
            difference=difference,
            expanded=expanded,
            off=difference is not None and expanded is not None and abs(difference) > expanded,
        )


def _measured(state: State, fit: FitState, number: int) -> tuple[float | None, float]:
    """Return a fit as measured after a selection, and its U; of a filed ring, its first gap."""
    gaps, filed = [], False
    back = {n.entry.target for n in state.entries if isinstance(n.entry, Withdrawn)}
    for row in state.entries[number:]:
        entry = row.entry
        if entry.id in back:
            continue
        if isinstance(entry, RingFiled) and entry.feature == fit.fit.id:
            filed = True
            break
        if isinstance(entry, Reading) and entry.feature == fit.fit.id:
            gaps.append(entry)
    if filed:
        return _first_gap(state, gaps)
    return (fit.value, fit.expanded or 0.0) if _since(state, fit, number) else (None, 0.0)


def _first_gap(state: State, gaps: Sequence[Reading]) -> tuple[float | None, float]:
    """Return the mean of a gap's readings before the file, and the U of the gauge used."""
    if not gaps:
        return None, 0.0
    gauge = state.gauges.get(gaps[-1].gauge)
    unsure = gauge.gauge.expanded_uncertainty.si if gauge else 0.0
    return sum(gap.value.si for gap in gaps) / len(gaps), unsure


def _since(state: State, fit: FitState, number: int) -> bool:
    """Tell whether the space of a fit was measured after an entry."""
    if fit.way is None:
        return False
    held = state.features[fit.fit.ways[fit.way].space]
    return held.size is not None and all(
        reading > number for station in held.size.stations for reading in station.readings
    )


def _changed(state: State, made: SelectionMade, number: int) -> Iterator[str]:
    """Yield the lines on bearings that a selection rests on and that are not so now."""
    if made.what not in SHELLS:
        for fit, why in _void(state, made, number).items():
            yield f"what it predicts of {state.fits[fit].fit.name} does not hold: {why}"
        return
    now = set(shell_question(state, made.what).basis)
    for line in made.basis:
        if ": room for walls" in line and line not in now:
            yield f"it was chosen for {line}, which has changed"


def selection_questions(state: State) -> Iterator[Question]:
    """Yield what is open of selections: what is not as predicted, what rests on changed facts."""
    if not any(isinstance(n.entry, SelectionMade) for n in state.entries):
        return
    for made, number in _latest(state):
        for outcome in _outcomes(state, made, number):
            if outcome.off:
                gate = state.fits[outcome.fit].fit.gate
                sentence = (
                    f"{outcome.name}: measured {_mm(outcome.measured or 0.0)}, and the parts "
                    f"chosen should give {_mm(outcome.predicted)}."
                )
                to_do = "Look whether the right part is there; measure what it rests on again."
                yield Question(gate, QuestionKind.SELECTION, outcome.fit, sentence, to_do)


@dataclass(frozen=True, slots=True)
class HandPair:
    """Two halves in one bearing, put there by hand.

    :param fault: why they may not lie there, '' if they may
    """

    bearing: str
    upper: str
    lower: str
    clearance: Estimate
    deviation: float
    fault: str


@dataclass(frozen=True, slots=True)
class HandPlaced:
    """A placement moved by hand; lengths in m.

    :param faults: what is not allowed, a sentence each
    """

    pairs: tuple[HandPair, ...]
    faults: tuple[str, ...]

    @property
    def worst(self) -> float:
        """Return the greatest deviation from target."""
        return max((abs(pair.deviation) for pair in self.pairs), default=0.0)

    @property
    def total(self) -> float:
        """Return the sum of the deviations from target."""
        return sum(abs(pair.deviation) for pair in self.pairs)


def moved_by_hand(
    question: ShellQuestion, found: ShellSelection, moves: Mapping[str, str]
) -> HandPlaced:
    """Return the placement that moves make of a selection; a shell in two places is a fault.

    :param moves: identity by place, 'main 3 upper'
    :raises EntryError: a place or a shell that there is not
    """
    from bedplate.shop.selection_shells import fault_of, predicted

    shells = {shell.id: shell for shell in question.shells}
    base = {pair.bearing: (pair.upper, pair.lower) for pair in found.placed}
    places = {f"{bearing.id} {side}" for bearing in question.bearings for side in _SIDES}
    for place, identity in moves.items():
        if place not in places:
            sentence = f"There is no place '{place[:60]}'."
            raise EntryError(sentence, hint=f"There is {', '.join(sorted(places)[:6])} ….")
        if identity not in shells:
            raise EntryError(f"There is no half shell '{identity[:60]}' in the box.")
    pairs, used = [], dict.fromkeys(shells, 0)
    for bearing in question.bearings:
        start = base.get(bearing.id, ("", ""))
        upper, lower = (
            moves.get(f"{bearing.id} {side}", start[index]) for index, side in enumerate(_SIDES)
        )
        if not upper or not lower:
            continue
        used[upper] += 1
        used[lower] += 1
        clearance = predicted(bearing, shells[upper], shells[lower])
        pairs.append(
            HandPair(
                bearing.id, upper, lower, clearance, clearance.value - bearing.target,
                fault_of(bearing, shells[upper], shells[lower], question.rules),
            )
        )  # fmt: skip
    faults = [f"{pair.bearing}: {pair.fault}" for pair in pairs if pair.fault]
    faults += [
        f"'{name}' lies in {count} places, and there {_are(shells[name].count)}"
        for name, count in used.items()
        if count > shells[name].count
    ]
    return HandPlaced(tuple(pairs), tuple(faults))


_SIDES = ("upper", "lower")


def _are(count: int) -> str:
    return "is 1" if count == 1 else f"are {count}"


def hand_placed(
    question: ShellQuestion, found: ShellSelection, moves: Mapping[str, str], coverage: float
) -> tuple[tuple[PlacedEntry, ...], tuple[Prediction, ...], str]:
    """Return what an entry keeps of a placement moved by hand, with how far it is from the best.

    :param coverage: k
    :raises NotPossibleError: it is not allowed
    """
    hand = moved_by_hand(question, found, moves)
    if hand.faults:
        raise NotPossibleError(f"This cannot lie so: {'; '.join(hand.faults)}.")
    least = max((abs(pair.deviation) for pair in found.placed), default=0.0)
    proof = f"moved by hand: worst deviation {_mm(hand.worst)}, where {_mm(least)} is possible"
    return (
        tuple(
            PlacedEntry(place=f"{pair.bearing} {side}", identity=identity)
            for pair in hand.pairs
            for side, identity in (("upper", pair.upper), ("lower", pair.lower))
        ),
        tuple(
            Prediction(
                fit=question.fits[pair.bearing],
                value=pair.clearance.value,
                expanded=coverage * pair.clearance.uncertainty,
            )
            for pair in hand.pairs
        ),
        proof,
    )
