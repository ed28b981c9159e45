"""Copper wire's resistance at another temperature."""

from __future__ import annotations

ALPHA_PER_K = 0.00393
"""Annealed copper at 20 °C. Source: IEC 60028:1925; IEC 60287-1-1, table 1."""

FINE_WIRE_LIMIT_PER_K = 0.00028
"""How far below ALPHA_PER_K the coefficient of tinned wire of 0.10 to 0.26 mm lies (about 0.93 of it). Source: an
instrument manual, after the IEICE handbook."""

REFERENCE_C = 20.0


def warmth(temperature_c: float, alpha_per_k: float = ALPHA_PER_K) -> float:
    """Resistance at a temperature over that at 20 °C: 1 + alpha (T - 20)."""
    return 1.0 + alpha_per_k * (temperature_c - REFERENCE_C)


def at_20(resistance_ohm: float, temperature_c: float, alpha_per_k: float = ALPHA_PER_K) -> float:
    """Resistance that copper wire would have at 20 °C, ohm."""
    return resistance_ohm / warmth(temperature_c, alpha_per_k)
