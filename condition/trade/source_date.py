"""EIA source-date codes on controls, loudspeakers and transformers: whose, and when the part was made.

The system has run since 1945 (lists of 1946, 1953 and from 1959 on; EIA-476-A, 1987); it dates the part, not the
instrument, and no more than 'not made before'. Sources: standard's scope and trade articles; see data/source_codes.csv.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Literal

from condition.errors import Refused
from condition.trade.tables import rows

FIRST_YEAR = 1945
LAST_ONE_DIGIT_YEAR = 1979
"""Articles name one-digit years from the 1940s to the 1970s, and disagree on when they ended."""

LAST_WEEK = 53
Fit = Literal["fits", "some fit", "later", "unknown"]


@dataclass(frozen=True, slots=True)
class SourceDate:
    """source_code : digits of the maker; maker : '' when not in our list; years : every possible one, ascending;
    week : as marked, 1 to 53; doubtful_week : week 53 exists in few years"""

    source_code: str
    maker: str
    years: tuple[int, ...]
    week: int

    @property
    def doubtful_week(self) -> bool:
        return self.week == LAST_WEEK

    @property
    def decade_open(self) -> bool:
        return len(self.years) > 1


@cache
def _makers() -> dict[str, str]:
    return {row["code"]: row["maker"] for row in rows("source_codes")}


def source_date(text: str, this_year: int = 2100) -> SourceDate:
    """Decode a marking such as ``1377624``, ``137 634`` or ``606-4-21``.

    Parameters
    ----------
    this_year : no part was made later

    Raises
    ------
    Refused
        ``codes.not_digits``, ``codes.too_short``, ``codes.too_long``, ``codes.week``, ``codes.year``
    """
    plain = re.sub(r"^\s*eia[\s:#-]*", "", text.strip(), flags=re.IGNORECASE)
    groups = [group for group in re.split(r"[\s.\-–/]+", plain) if group]
    if not groups or not all(group.isascii() and group.isdigit() for group in groups):
        raise Refused("codes.not_digits", text=text)
    source, dated = (groups[0], "".join(groups[1:])) if len(groups) > 1 else _parted(groups[0])
    if len(source) > 4 or len(dated) > 4:
        raise Refused("codes.too_long", text=text)
    if len(dated) < 3:
        raise Refused("codes.too_short", text=text)
    year, week = dated[:-2], int(dated[-2:])
    if not 1 <= week <= LAST_WEEK:
        raise Refused("codes.week", text=text, week=dated[-2:])
    years = _years(year, this_year)
    if not years:
        raise Refused("codes.year", text=text, year=year)
    return SourceDate(source, _makers().get(source, ""), years, week)


def _parted(digits: str) -> tuple[str, str]:
    """Seven digits and eight carry a two-digit year, six a one-digit year after a three-digit source."""
    cut = 4 if len(digits) == 8 else 3
    return digits[:cut], digits[cut:]


def _years(year: str, this_year: int) -> tuple[int, ...]:
    if len(year) == 1:
        return tuple(y for y in range(FIRST_YEAR, min(LAST_ONE_DIGIT_YEAR, this_year) + 1) if y % 10 == int(year))
    full = 1900 + int(year) if int(year) >= FIRST_YEAR % 100 else 2000 + int(year)
    return (full,) if full <= this_year else ()


def week_span(year: int, week: int) -> tuple[date, date]:
    """Sunday and Saturday of a marked week; the first week is the one with four days or more in the year.

    Weeks of the code run Sunday to Saturday, unlike ISO 8601's; allow a week either way.
    """
    first = date(year, 1, 4)
    sunday = first - timedelta(days=(first.weekday() + 1) % 7) + timedelta(weeks=week - 1)
    return sunday, sunday + timedelta(days=6)


def claimed_years(text: str) -> tuple[int, int] | None:
    """First and last year a claim such as ``1978``, ``about 1962`` or ``late 1950s`` may mean, None without one."""
    found = re.findall(r"(?<!\d)((?:18|19|20)\d\d)(s?)", text)
    if not found:
        return None
    spans = [(int(year), int(year) + 9 if s and year.endswith("0") else int(year)) for year, s in found]
    return min(low for low, _ in spans), max(high for _, high in spans)


def fit_with(years: tuple[int, ...], claim: str) -> Fit:
    """Whether the part may have been there by the claimed year: ``fits`` says only that nothing speaks against it."""
    span = claimed_years(claim)
    if span is None:
        return "unknown"
    early = [year for year in years if year <= span[1]]
    if len(early) == len(years):
        return "fits"
    return "some fit" if early else "later"
