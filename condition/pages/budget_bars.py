"""What a ± is made of, as bars with figures: the largest part first, the least together."""

from __future__ import annotations

import math

import streamlit as st

from condition.flow.measuring import budget_of
from condition.records.measurement import Measurement, unit_word
from condition.words import say

LEAST_SHARE = 0.005
"""Of the variance; what is less is told in one line."""


def budget_bars(measurement: Measurement) -> None:
    """Show the standard uncertainties of a measurement and their shares of its variance (JCGM 100:2008, 5.1.2)."""
    unit = unit_word(measurement.unit)
    rows = budget_of(measurement)
    for code, standard, share in rows:
        if share >= LEAST_SHARE:
            figures = {"standard": f"{float(f'{standard:.2g}'):g}", "unit": unit, "percent": f"{100 * share:.0f}"}
            st.progress(min(1.0, share), say("budget.part", part=say(code), **figures))
    least = [(code, standard) for code, standard, share in rows if share < LEAST_SHARE]
    if least:
        names = ", ".join(say(code) for code, _ in least)
        together = math.hypot(*(standard for _, standard in least))
        st.caption(say("budget.least", parts=names, standard=f"{together:.4f}", unit=unit))
    st.caption(say("budget.together"))
