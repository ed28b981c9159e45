"""The shop's database and its photo vault; nothing heavy is loaded before one of these names is used."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from condition.store.backup import back_up
    from condition.store.check import Checked, check_store
    from condition.store.jobs import Store
    from condition.store.log import Change
    from condition.store.places import default_folder
    from condition.store.refusals import AlreadyDone, Stale
    from condition.store.vault import Vault
    from condition.store.write import Write

_HOMES = {
    "Store": "jobs",
    "Write": "write",
    "Stale": "refusals",
    "AlreadyDone": "refusals",
    "Change": "log",
    "Vault": "vault",
    "default_folder": "places",
    "check_store": "check",
    "Checked": "check",
    "back_up": "backup",
}
__all__ = [
    "AlreadyDone",
    "Change",
    "Checked",
    "Stale",
    "Store",
    "Vault",
    "Write",
    "back_up",
    "check_store",
    "default_folder",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{_HOMES[name]}"), name)
