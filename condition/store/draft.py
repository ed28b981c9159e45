"""Draft the migration that brings the last form of the database to the present tables, for a developer to read over.

``python -m condition.store.draft "parts list"`` writes ``migrations/versions/NNNN_parts_list.py``; read it over, then
raise ``HEAD`` in ``migrate.py``. A migration that changes stored values writes log rows for them too.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory

from condition.store.connect import plain
from condition.store.migrate import alembic_config, borrowed, prepare


def draft(what: str) -> Path:
    """Write the next migration's file and return its path."""
    config = alembic_config()
    config.set_main_option("file_template", "%%(rev)s_%%(slug)s")
    number = len(list(ScriptDirectory.from_config(config).walk_revisions())) + 1
    with tempfile.TemporaryDirectory() as folder:
        connection = plain(prepare(Path(folder), patience_s=5), patience_s=5)
        try:
            with borrowed(connection) as config.attributes["connection"]:
                script = command.revision(config, what, autogenerate=True, rev_id=f"{number:04d}")
        finally:
            connection.close()
    return Path(script.path)


if __name__ == "__main__":
    print(draft(" ".join(sys.argv[1:])))
