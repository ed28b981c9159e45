"""A coil read at the output jack has the volume control beside it: what is read, and what the coil has by itself.

Direct current: a tone control with its capacitor in series draws nothing while the capacitor is sound.
"""

from __future__ import annotations

from typing import Literal

from condition.errors import Refused

Wiring = Literal["usual", "independent"]

POT_TOLERANCE_PERCENT = 20.0
"""Usual for carbon controls; selected ones 10 % (common practice)."""


def in_parallel(*resistances_ohm: float) -> float:
    """Resistance of several side by side, ohm; one of zero shorts them all."""
    if min(resistances_ohm) <= 0:
        return 0.0
    return 1.0 / sum(1.0 / each for each in resistances_ohm)


def unloaded(read_ohm: float, control_ohm: float) -> float:
    """The coil's own resistance from what is read with the control (full up) in parallel, ohm.

    Raises
    ------
    Refused
        ``coil.above_control``: nothing beside the control could make it read so high.
    """
    if not 0 <= read_ohm < control_ohm:
        raise Refused("coil.above_control")
    return read_ohm * control_ohm / (control_ohm - read_ohm)


def sensitivities(read_ohm: float, control_ohm: float) -> tuple[float, float]:
    """Change of the coil's resistance with what is read, and with the control: (Rp / Rm)^2 and -(Rp / Rv)^2."""
    coil = unloaded(read_ohm, control_ohm)
    return (coil / read_ohm) ** 2 if read_ohm else 1.0, -((coil / control_ohm) ** 2)


def turned_down(coil_ohm: float, control_ohm: float, turn: float, wiring: Wiring = "usual") -> float:
    """What is read when the volume is not full: it is the knob that is read, not the coil.

    turn : the track's share to ground, 1 full up, 0 off
    wiring : usual (coil on the track's end, jack on the wiper) or independent (coil on the wiper)
    """
    track, rest = turn * control_ohm, (1.0 - turn) * control_ohm
    if wiring == "usual":
        return in_parallel(track, coil_ohm + rest) if track > 0 else 0.0
    return rest + (in_parallel(track, coil_ohm) if track > 0 else 0.0)
