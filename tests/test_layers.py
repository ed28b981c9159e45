"""Imports run one way: pages, commands -> flow -> report, store -> measure -> imaging, trade -> records, errors."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "condition"

MAY_IMPORT = {
    "errors": set(),
    "records": {"errors"},
    "imaging": {"records", "errors"},
    "trade": {"records", "errors"},
    "measure": {"imaging", "trade", "records", "errors"},
    "words": {"errors"},
    "store": {"measure", "imaging", "trade", "records", "errors"},
    "report": {"measure", "imaging", "trade", "records", "errors", "words"},
    "flow": {"report", "store", "measure", "imaging", "trade", "records", "errors", "words"},
    "commands": {"flow", "records", "errors", "words"},
    "pages": {"flow", "records", "errors", "words"},
    "door": {"flow", "records", "errors", "words"},
}

ONLY_IN = {
    "streamlit": {"pages", "door"},
    "starlette": {"pages", "door"},
    "sqlalchemy": {"store"},
    "alembic": {"store"},
    "reportlab": {"report"},
    "cv2": {"imaging"},
    "pillow_heif": {"imaging"},
    "exifread": {"imaging"},
}

MODULES = sorted(ROOT.rglob("*.py"))


def imported_names(module: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: imports are written in full"
            names += [
                f"{node.module}.{alias.name}" if node.module == "condition" else node.module for alias in node.names
            ]
    return names


def layer_of(module: Path) -> str:
    return module.relative_to(ROOT).parts[0].removesuffix(".py")


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(ROOT)))
def test_a_module_imports_only_what_lies_below_it(module):
    layer = layer_of(module)
    if layer in ("__init__", "__main__"):
        return
    for name in imported_names(module):
        parts = name.split(".")
        if parts[0] == "condition" and len(parts) > 1 and parts[1] not in ("__version__", layer):
            assert parts[1] in MAY_IMPORT[layer], f"{layer} must not import {name}"
        if parts[0] in ONLY_IN:
            assert layer in ONLY_IN[parts[0]], f"only {ONLY_IN[parts[0]]} may import {parts[0]}"


def test_every_layer_of_the_house_is_known():
    found = {layer_of(module) for module in MODULES} - {"__init__", "__main__"}
    assert found <= set(MAY_IMPORT)


@pytest.mark.parametrize("module", sorted((ROOT / "pages").rglob("*.py")), ids=lambda m: m.stem)
def test_a_page_runs_anew_only_by_letting_a_wish_for_another_page_pass(module):
    """``st.rerun`` puts its own page over one asked for meanwhile (``frame.again`` says how it is let pass)."""
    if module.name == "frame.py":
        return
    assert "st.rerun(" not in module.read_text(encoding="utf-8")
