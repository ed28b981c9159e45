"""The README says what is there, and what is there is in the README."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = sorted(
    path.stem for path in (ROOT / "condition" / "commands").glob("*.py") if "def attach(" in path.read_text()
)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command):
    assert re.search(rf"`{command}[ `]", README)


def test_every_command_of_the_readme_exists():
    table = README.split("| command | does |")[1].split("\n\n")[0]
    named = {name for cell in re.findall(r"^\| (.+?) \|", table, re.M) for name in re.findall(r"`(\w+)", cell)}
    assert named <= set(COMMANDS)


def test_every_page_is_in_the_readme():
    from condition.words import say

    shell = ast.parse((ROOT / "condition/pages/shell.py").read_text())
    titles = [
        node.value for node in ast.walk(shell) if isinstance(node, ast.Constant) and str(node.value).startswith("page.")
    ]
    pages = {say(code) for code in titles} - {say("page.title")}
    assert pages
    assert all(f"*{title}*" in README for title in pages)


def test_every_picture_and_file_the_readme_links_to_is_there():
    for target in re.findall(r"\]\(([^)]+)\)", README):
        assert (ROOT / target).exists(), target


def test_the_readme_opens_with_the_job():
    first = README.split("\n\n")[1]
    assert "restore" in first
    assert len(first) > 300


def test_top_level_holds_only_what_its_user_fixed():
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "requirements.txt",
        "app.py",
        "condition",
        "tests",
        "demo_images",
        "pyproject.toml",
    }
    import subprocess

    listed = subprocess.run(
        ["git", "-C", str(ROOT), "ls-files"], capture_output=True, text=True, check=False
    ).stdout.split("\n")
    top = {line.split("/")[0] for line in listed if line and not line.startswith(".")}
    assert top <= allowed
