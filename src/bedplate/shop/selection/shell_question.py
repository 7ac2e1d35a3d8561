"""Which half shell goes where: from the state to the question."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from bedplate.engine.orders import ShellFamily, ShellRule
from bedplate.errors import EntryError
from bedplate.metrology import standard_uncertainty
from bedplate.metrology.sources import combine
from bedplate.shop.evaluate import counting
from bedplate.shop.model import FitState, State
from bedplate.shop.selection.codes import CodeFamily, IndependentHalves, Matrix, SumOfCodes
from bedplate.shop.selection.model import Bearing, Estimate, Grade, HalfShell, Role, ShellRules
from bedplate.shop.selection.shells_on_hand import ShellsOnHand
from bedplate.shop.selection.words import millimetres

SHELLS: dict[str, Role] = {"main shells": "main", "rod shells": "rod"}
"""What can be selected of half shells, and the bearings they lie in."""


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
    """Gathers the bearings of one kind."""

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
        on_hand = ShellsOnHand(self._state, self._role, self._families)
        fitted = on_hand.fitted(self._numbers())
        bearings = tuple(self._bearings())
        shells = tuple(on_hand.shells(fitted))
        return ShellQuestion(
            what=self._what,
            bearings=bearings,
            shells=shells,
            rules=self._rules(),
            catalogue=tuple(on_hand.catalogue()),
            fitted={n: pair for n, pair in fitted.items() if n in {b.id for b in bearings}},
            fits=self._fits,
            missing=(*self._missing, *on_hand.missing),
            basis=(*self._basis, *on_hand.basis),
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
        wide, aim = millimetres(room.value), millimetres(target)
        self._basis.append(f"{name}: room for walls and oil {wide}, target {aim}")
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
