"""The usual cautions, short. Each is shown before the work it belongs to, and that is recorded.

General words, common practice; the maker's manual, local rules and licensed practice come first.
"""

from __future__ import annotations

FIRST = "The maker's manual, local rules and licensed practice come first."

CAUTIONS: dict[str, str] = {
    "cleaning": "Solvents: fresh air, gloves, no flame; hot tanks burn. Compressed air: cover the "
    "eyes, keep it off skin and clothing, hold to the pressure your rules allow at the nozzle.",
    "lifting": "Lift crank and block with rated gear or a second person; lock the stand; never "
    "reach under what hangs. Edges are sharp.",
    "tightening": "Cover the eyes: a bolt that breaks flies. Stand so that a slipping wrench takes "
    "you nowhere; no pipe on the handle.",
    "turning": "Fingers out of the crankcase before the crank is turned: caps and counterweights "
    "pinch.",
    "pistons": "Fingers out of the bore and off the ring compressor's edge; tap with wood, cover "
    "the rod bolts. If it stops, stop: a ring is out. Circlips fly: cover the eyes.",
    "heat": "Hot parts: dry gloves, no fuel or solvent near. Very cold parts: eyes covered, and "
    "the room open.",
    "priming": "Oil under pressure pierces skin: never feel for a leak by hand; an injected hand "
    "is a surgeon's case, at once.",
    "first start": "Extinguisher in reach, a second person at the switch, fuel lines looked at, "
    "exhaust led outside, nothing loose near belts and fan. No oil pressure, a knock or a leak: "
    "stop.",
}
"""By what they are about."""


def caution(about: str) -> str:
    """Return a caution with what stands above it, '' for none."""
    return f"{CAUTIONS[about]} {FIRST}" if about else ""
