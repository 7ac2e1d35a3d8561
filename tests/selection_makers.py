"""Random boxes of shells, and two ways to place them that share no code with the program's."""

from __future__ import annotations

import random
from itertools import product

from bedplate.shop.selection.model import Bearing, Estimate, Grade, HalfShell, ShellRules
from bedplate.shop.selection.set_model import Kind, SetFit, clearances

STEP = 0.5e-6


def microns(count):
    """Return a count of half micrometres in m."""
    return count * STEP


def random_case(random_source: random.Random, most_bearings=3, most_kinds=5, spare=3):
    """Return bearings, stock and rules; sizes are whole half micrometres, so sums are exact."""
    r = random_source
    bearings = []
    for place in range(r.randint(1, most_bearings)):
        family = r.choice(["", "", "b"])
        low, target, high = sorted(r.sample(range(20, 70), 3))
        if r.random() < 0.7:
            low, high = 0, 200
        bearings.append(
            Bearing(
                id=f"bearing-{place}",
                role=r.choice(["main", "rod"]),
                walls=Estimate(microns(8000 + r.randint(0, 40)), 1e-6),
                target=microns(target),
                low=microns(low),
                high=microns(high),
                family=family,
                groove=r.choice(["upper", "lower", "both", "neither"]) if r.random() < 0.1 else "",
                upper_grades=frozenset(r.sample("abc", 2)) if r.random() < 0.1 else frozenset(),
                lower_grades=frozenset(r.sample("abc", 2)) if r.random() < 0.1 else frozenset(),
            )
        )
    stock = []
    for family in dict.fromkeys(b.family for b in bearings):
        needed = 2 * sum(b.family == family for b in bearings)
        # The last batches fill up, so that the box is never refused for being too small.
        while needed > 0 or (r.random() < 0.6 and len(stock) < most_kinds):
            count = r.randint(1, spare)
            side = r.choice(["upper", "lower", None, None, None, None])
            stock.append(
                HalfShell(
                    id=f"shell-{len(stock)}",
                    grade=r.choice("abc"),
                    wall=Estimate(microns(4000 + r.randint(0, 20)), 0.5e-6),
                    side=side,
                    grooved=side is not None and r.random() < 0.15,
                    coated=r.random() < 0.2,
                    count=count,
                    family=family,
                    measured=r.random() < 0.5,
                )
            )
            needed -= count
    rules = ShellRules(
        forbidden=frozenset([tuple(r.choices("abc", k=2))]) if r.random() < 0.4 else frozenset(),
        wall_difference=microns(r.randint(0, 12)) if r.random() < 0.4 else None,
        thicker=r.choice(["loaded", "unloaded", "anywhere", "anywhere"]),
        alike_within=microns(r.randint(0, 3)),
        mixed_coating=r.random() < 0.8,
    )
    return bearings, stock, rules


def half_microns(size):
    return round(size / STEP)


def allowed(bearing, upper, lower, rules):
    """Say again, from the words of the rules, whether two halves may lie in a bearing."""
    if {upper.family, lower.family} != {bearing.family}:
        return False
    if upper.side == "lower" or lower.side == "upper":
        return False
    grooves = {
        "": (upper.grooved, lower.grooved),
        "upper": (True, False),
        "lower": (False, True),
        "both": (True, True),
        "neither": (False, False),
    }
    asked = (bearing.upper_grades or {upper.grade}, bearing.lower_grades or {lower.grade})
    return (
        (upper.grooved, lower.grooved) == grooves[bearing.groove]
        and upper.grade in asked[0]
        and lower.grade in asked[1]
        and {upper.grade, lower.grade} not in [set(pair) for pair in rules.forbidden]
        and (rules.mixed_coating or upper.coated is lower.coated)
        and walls_allowed(bearing, upper, lower, rules)
    )


def walls_allowed(bearing, upper, lower, rules):
    top, bottom = half_microns(upper.wall.value), half_microns(lower.wall.value)
    apart = abs(top - bottom)
    if rules.wall_difference is not None and apart > half_microns(rules.wall_difference):
        return False
    if apart <= half_microns(rules.alike_within) or rules.thicker == "anywhere":
        return True
    loaded, other = (bottom, top) if bearing.role == "main" else (top, bottom)
    return loaded > other if rules.thicker == "loaded" else loaded < other


def deviation(bearing, upper, lower):
    """Return clearance less target in half micrometres, None outside the limits."""
    off = half_microns(bearing.walls.value) - half_microns(upper.wall.value)
    off -= half_microns(lower.wall.value)
    clearance = half_microns(bearing.target) + off
    inside = half_microns(bearing.low) <= clearance <= half_microns(bearing.high)
    return off if inside else None


def choices(bearing, stock, rules):
    return [
        (abs(deviation(bearing, upper, lower)), u, lo)
        for (u, upper), (lo, lower) in product(enumerate(stock), repeat=2)
        if allowed(bearing, upper, lower, rules) and deviation(bearing, upper, lower) is not None
    ]


def exhaustive(bearings, stock, rules):
    """Try every placement; return the best (worst, total, grades), None if there is none."""
    options = [choices(b, stock, rules) for b in bearings]
    counts = [s.count for s in stock]
    best = None

    def place(number, worst, total, grades):
        nonlocal best
        if number == len(bearings):
            reached = (worst, total, len(grades))
            best = reached if best is None else min(best, reached)
            return
        for away, upper, lower in options[number]:
            counts[upper] -= 1
            counts[lower] -= 1
            if counts[upper] >= 0 and counts[lower] >= 0:
                used = {(stock[x].family, stock[x].grade) for x in (upper, lower)}
                place(number + 1, max(worst, away), total + away, grades | used)
            counts[upper] += 1
            counts[lower] += 1

    place(0, 0, 0, frozenset())
    return best


def fewest_bought(bearings, stock, rules, grades):
    """Try every placement with as many of each grade bought as wanted; return the fewest bought."""
    bought = [
        HalfShell(
            id=f"{grade.name}-{side}", grade=grade.name, wall=grade.wall, side=side,
            count=len(bearings), family=grade.family, grooved=side in grade.grooved,
        )
        for grade in grades
        for side in grade.sides
    ]  # fmt: skip
    everything = [*stock, *bought]
    options = [choices(b, everything, rules) for b in bearings]
    counts = [s.count for s in everything]
    best = None

    def place(number, pieces):
        nonlocal best
        if best is not None and pieces >= best:
            return
        if number == len(bearings):
            best = pieces
            return
        for _, upper, lower in options[number]:
            counts[upper] -= 1
            counts[lower] -= 1
            if counts[upper] >= 0 and counts[lower] >= 0:
                place(number + 1, pieces + (upper >= len(stock)) + (lower >= len(stock)))
            counts[upper] += 1
            counts[lower] += 1

    place(0, 0)
    return best


def reached(selection):
    """Return (worst, total, grades) of a selection in half micrometres, None if nothing placed."""
    if not selection.placed:
        return None
    worst, total, grades = selection.proof.goals
    return half_microns(worst.value), half_microns(total.value), grades.value


def by_constraints(bearings, stock, rules):
    """Ask a constraint solver for (worst, total, grades), goal by goal; None if there is none."""
    from ortools.sat.python import cp_model

    fixed = []
    while True:
        model = cp_model.CpModel()
        taken = []
        uses = [[] for _ in stock]
        by_grade = {}
        for bearing in bearings:
            row = []
            for away, upper, lower in choices(bearing, stock, rules):
                choice = model.new_bool_var("")
                row.append((choice, away))
                for half in (upper, lower):
                    uses[half].append(choice)
                    key = (stock[half].family, stock[half].grade)
                    by_grade.setdefault(key, []).append(choice)
            model.add_exactly_one(c for c, _ in row)
            taken.append(row)
        for shell, used in zip(stock, uses, strict=True):
            model.add(sum(used) <= shell.count)
        worst = model.new_int_var(0, 10**6, "worst")
        for row in taken:
            model.add(sum(c * away for c, away in row) <= worst)
        total = sum(c * away for row in taken for c, away in row)
        present = []
        for used in by_grade.values():
            grade = model.new_bool_var("")
            model.add_max_equality(grade, used)
            present.append(grade)
        goals = [worst, total, sum(present)]
        for goal, value in zip(goals, fixed, strict=False):
            model.add(goal == value)
        model.minimize(goals[len(fixed)])
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL
        fixed.append(round(solver.objective_value))
        if len(fixed) == len(goals):
            return tuple(fixed)


def medium_case(random_source: random.Random):
    """Return a box of the size of a real one: 4 to 9 bearings of a kind, 5 to 9 grades."""
    r = random_source
    grades = r.randint(5, 9)
    stock, bearings = [], []
    for family, role in (("main", "main"), ("rod", "rod")):
        number = r.randint(4, 9)
        for grade in range(grades):
            stock += [
                HalfShell(
                    id=f"{family}-{grade}-{side}", grade=str(grade), side=side, family=family,
                    wall=Estimate.within(microns(4000 + 5 * grade), 1e-6),
                    grooved=family == "main" and side == "upper",
                    count=r.randint(1, max(2, 4 * number // grades)),
                )
                for side in ("upper", "lower")
            ]  # fmt: skip
        for grade in (grades // 2 - 1, grades // 2):
            # Enough of the middle for all: shells that do not reach make a puzzle of pigeonholes,
            # which takes the constraint solver minutes to see.
            stock.append(
                HalfShell(
                    id=f"{family}-{grade}-more", grade=str(grade), family=family, count=number,
                    wall=Estimate.within(microns(4000 + 5 * grade), 1e-6),
                )
            )  # fmt: skip
        for place in range(number):
            middle = 8000 + 5 * (grades - 1)
            walls = Estimate(microns(middle + round(r.gauss(0, 3 * grades))), 1.5e-6)
            bearings.append(
                Bearing(f"{family}-{place}", role, walls, 45e-6, 5e-6, 85e-6, family)
            )  # fmt: skip
    rules = ShellRules(
        wall_difference=r.choice([None, 2.5e-6, 5e-6]),
        thicker=r.choice(["loaded", "anywhere"]),
        forbidden=frozenset({("0", str(grades - 1))}),
    )
    return bearings, stock, rules


CATALOGUE = tuple(
    Grade(name, Estimate.within(microns(4000 + wall), 1e-6), family)
    for family in ("", "b")
    for name, wall in (("a", 4), ("b", 10), ("c", 16))
)


def engine_box(random_source: random.Random, counts, shells, grades):
    """Return bearings by kind and number, and exactly so many shells in so many grades."""
    r = random_source
    stock, bearings = [], []
    kinds = [(family, grade, side) for family in counts for grade in range(grades)
             for side in ("upper", "lower")]  # fmt: skip
    held = dict.fromkeys(kinds, 1)
    for _ in range(shells - len(kinds)):
        held[r.choice(kinds)] += 1
    for (family, grade, side), count in held.items():
        stock.append(
            HalfShell(
                id=f"{family}-{grade}-{side}", grade=str(grade), side=side, family=family,
                wall=Estimate.within(2e-3 + grade * 3e-6, 1e-6), count=count,
                grooved=family == "main" and side == "upper",
            )
        )  # fmt: skip
    for family, number in counts.items():
        for place in range(number):
            walls = 4e-3 + (grades - 1) * 3e-6 + round(r.gauss(0, 9), 1) * 1e-6
            groove = "upper" if family == "main" else "neither"
            bearings.append(
                Bearing(
                    f"{family}-{place}", family, Estimate(walls, 1.5e-6), 45e-6, 25e-6, 65e-6,
                    family, groove,
                )
            )  # fmt: skip
    return bearings, stock, ShellRules(wall_difference=3e-6, thicker="loaded")


def set_case(random_source: random.Random, number, step=1e-4):
    """Return a set of invented parts with their four fits, sizes to 1 µm and weights to a step."""
    r = random_source

    def weighed(name, grams, spread):
        weights = (round(r.gauss(grams, spread) * 1e-3 / step) * step for _ in range(number))
        return Kind(name, {f"{name}-{n}": weight for n, weight in enumerate(weights)})

    def sized(kind, size, spread):
        return {part: Estimate(round(r.gauss(size, spread)) * 1e-6, 1e-6) for part in kind.weights}

    bore = Kind("bore", {f"bore-{n}": 0.0 for n in range(number)})
    piston, pin = weighed("piston", 412, 1.5), weighed("pin", 118, 0.4)
    rod, rings = weighed("rod", 600, 2.5), weighed("rings", 38, 0.3)
    bores = sized(bore, 86000, 4)
    pins = sized(pin, 22000, 1)
    fits = [
        _fit("piston in bore", (bore, bores), (piston, sized(piston, 85950, 4)), 50, 25, near=1e-6),
        _fit("pin in piston", (piston, sized(piston, 22008, 1)), (pin, pins), 8, 5),
        _fit("pin in rod", (rod, sized(rod, 22020, 2)), (pin, pins), 20, 8),
        _fit("ring gap", (bore, bores), (rings, sized(rings, 85600, 20)), 400, 200),
    ]
    return [bore, piston, pin, rod, rings], fits


def _fit(name, outer, inner, target, either_way, near=0.0):
    return SetFit(
        name,
        (outer[0].name, inner[0].name),
        clearances(outer[1], inner[1]),
        target * 1e-6,
        (target - either_way) * 1e-6,
        (target + either_way) * 1e-6,
        near,
    )


def _cost_of_fit(model, fit, lies, number):
    """Return the sum of a fit's deviations, and forbid the pairs outside its limits."""
    one, other = (lies[name] for name in fit.between)
    total = 0
    for (a, b), clearance in fit.clearance.items():
        size = round(clearance.value * 1e9)
        off = abs(size - round(fit.target * 1e9)) - round(fit.near * 1e9)
        legal = round(fit.low * 1e9) <= size <= round(fit.high * 1e9)
        for place in range(number):
            apart = [one[a][place].negated(), other[b][place].negated()]
            if not legal:
                model.add_bool_or(apart)
            elif off > 0:
                meet = model.new_bool_var("")
                model.add_bool_or([*apart, meet])
                total += off * fit.importance * meet
    return total


def sets_by_constraints(kinds, fits, first, tolerance):
    """Ask a constraint solver for the two goals, in 0.01 g over tolerance and in nm."""
    from ortools.sat.python import cp_model

    number, fixed = len(kinds[0].weights), []
    while True:
        model = cp_model.CpModel()
        lies = {
            kind.name: {
                part: [model.new_bool_var("") for _ in range(number)] for part in kind.weights
            }
            for kind in kinds
        }
        for table in lies.values():
            for row in table.values():
                model.add_exactly_one(row)
            for place in range(number):
                model.add_exactly_one(row[place] for row in table.values())
        sums = [
            sum(
                round(weight * 1e5) * lies[kind.name][part][place]
                for kind in kinds
                for part, weight in kind.weights.items()
            )
            for place in range(number)
        ]
        most, least = (model.new_int_var(0, 10**7, "") for _ in range(2))
        over = model.new_int_var(0, 10**7, "over")
        for weight in sums:
            model.add(weight <= most)
            model.add(weight >= least)
        model.add(most - least - round(tolerance * 1e5) <= over)
        total = sum(_cost_of_fit(model, fit, lies, number) for fit in fits)
        goals = [over, total] if first == "weight" else [total, over]
        for goal, value in zip(goals, fixed, strict=False):
            model.add(goal <= value)
        model.minimize(goals[len(fixed)])
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL
        fixed.append(round(solver.objective_value))
        if len(fixed) == 2:
            return tuple(fixed)
