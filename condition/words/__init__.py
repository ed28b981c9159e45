"""Every word a person reads, from one gettext catalogue.

The English sentences live in ``en/*.po``, one file an area of the work (``photo.truncated`` stands in
``photo.po``), read with polib and looked up through :mod:`gettext`, plurals included. Values go in with
:meth:`str.format`.
"""

from __future__ import annotations

import gettext
import io
from functools import cache
from pathlib import Path

from condition.errors import ConditionError, Problem

FOLDER = Path(__file__).parent


@cache
def _area(language: str, area: str) -> gettext.NullTranslations:
    import polib

    source = FOLDER / language / f"{area}.po"
    if not source.exists():
        return gettext.NullTranslations()
    return gettext.GNUTranslations(io.BytesIO(polib.pofile(str(source)).to_binary()))


def _catalogue(code: str, language: str) -> gettext.NullTranslations:
    return _area(language, code.split(".", 1)[0])


def say(code: str, language: str = "en", **values: object) -> str:
    """Return the sentence for a code, with its values; an unknown code comes back as itself."""
    return _catalogue(code, language).gettext(code).format(**values)


def say_n(code: str, n: int, language: str = "en", **values: object) -> str:
    """Return the sentence for a number of things: the entry has ``msgid_plural`` and may use ``{n}``."""
    return _catalogue(code, language).ngettext(code, code, n).format(n=n, **values)


def say_error(error: ConditionError | Problem, language: str = "en") -> str:
    """Return the one sentence that says what is wrong and what to do."""
    return say(error.code, language, **dict(error.values))
