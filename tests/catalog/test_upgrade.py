"""Migrations make what the models say, keep a copy first, and never drop data."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import CheckConstraint, Engine, create_engine, inspect, text
from sqlalchemy.exc import IntegrityError

from catalog import upgrade as upgrading
from catalog.engine import database_url, open_engine
from catalog.errors import StoreUnusable
from catalog.migrations import HEAD, VERSION_TABLE
from catalog.store import Store
from catalog.tables import Base
from catalog.upgrade import SCRIPTS, alembic_config, keep_copy, upgrade

#: A step after the newest one.
AFTER = f"{int(HEAD) + 1:04}"
NEXT = """
import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "AFTER", "HEAD", None, None


def upgrade():
    with op.batch_alter_table("shelves") as shelves:
        shelves.add_column(sa.Column("motto", sa.String(20), nullable=False, server_default="bake"))
        shelves.create_check_constraint("motto_not_blank", "length(motto) > 0")
    BROKEN
""".replace("AFTER", AFTER).replace("HEAD", HEAD)


def tables(engine: Engine) -> set[str]:
    return set(inspect(engine).get_table_names())


@pytest.fixture
def scripts(tmp_path: Path) -> Path:
    """The migrations with one more step, which rebuilds the table that all others refer to."""
    folder = tmp_path / "steps"
    shutil.copytree(SCRIPTS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / f"{AFTER}_motto.py").write_text(NEXT.replace("BROKEN", ""))
    return folder


def test_head_is_the_newest_step() -> None:
    assert ScriptDirectory.from_config(alembic_config()).get_heads() == [HEAD]


def test_a_new_database_has_exactly_what_the_models_say(store: Store) -> None:
    with store._engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
        assert compare_metadata(context, Base.metadata) == []


def test_every_check_of_the_models_is_in_the_database(store: Store) -> None:
    # Autogenerate does not see CHECK constraints, so they are compared by name.
    inspector = inspect(store._engine)
    for table in Base.metadata.sorted_tables:
        wanted = {str(c.name) for c in table.constraints if isinstance(c, CheckConstraint)}
        assert wanted
        assert {c["name"] for c in inspector.get_check_constraints(table.name)} == wanted


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("jars", "on_hand_mg", "-1"),
        ("jars", "grain_um", "0"),
        ("jars", "diet", "'paleo'"),
        ("jars", "version", "0"),
        ("jars", "name_key", "''"),
        ("jars", "shelf_id", "77"),
        ("gels", "dose_ug", "0"),
        ("boxes", "price_micro", "-1"),
        ("supplies", "pack_size_milli", "0"),
        ("shelves", "revision", "0"),
        ("shelves", "currency", "'EU'"),
    ],
)
def test_the_database_itself_refuses(store: Store, table: str, column: str, value: str) -> None:
    shelf = store.create_shelf("Home").id
    store.create(shelf, "jars", {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}]})
    store.create(shelf, "gels", {"name": "r", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1})
    store.create(shelf, "boxes", {"name": "b"})
    store.create(shelf, "supplies", {"name": "s"})
    with pytest.raises(IntegrityError), store._engine.begin() as connection:
        connection.execute(text(f"UPDATE {table} SET {column} = {value}"))


def test_a_current_database_is_opened_without_alembic(database: str, monkeypatch: pytest.MonkeyPatch) -> None:
    Store(database, ()).close()

    def never(*_: object) -> None:
        raise AssertionError("the steps were run again")

    monkeypatch.setattr(upgrading, "_run", never)
    Store(database, ()).close()


def test_an_older_database_is_upgraded_with_its_data(store: Store, database: str, scripts: Path) -> None:
    shelf = store.create_shelf("Home").id
    store.create(shelf, "cutters", {"name": "owl", "width_mm": 80})
    store.close()
    engine = open_engine(database_url(database))
    copy = upgrade(engine, AFTER, scripts)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT name, motto FROM shelves")).all() == [("Home", "bake")]
        assert connection.execute(text("SELECT name, shelf_id FROM cutters")).all() == [("owl", shelf)]
    assert "ck_shelves_motto_not_blank" in {c["name"] for c in inspect(engine).get_check_constraints("shelves")}
    assert upgrade(engine, AFTER, scripts) is None
    if engine.dialect.name == "sqlite":
        with engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    # The copy is the database as it was, and opens as such.
    assert copy is not None
    before = Store(f"sqlite:///{copy}", ())
    assert before.get(shelf, "cutters", 1)["width_mm"] == 80
    before.close()
    engine.dispose()
    with pytest.raises(StoreUnusable, match="newer"):
        Store(database, ())


def test_a_step_that_fails_changes_nothing(store: Store, database: str, scripts: Path) -> None:
    shelf = store.create_shelf("Home").id
    store.create(shelf, "cutters", {"name": "owl"})
    store.close()
    broken = NEXT.replace("BROKEN", "op.execute('DELETE FROM cutters'); op.execute('nonsense')")
    (scripts / "versions" / f"{AFTER}_motto.py").write_text(broken)
    engine = open_engine(database_url(database))
    with pytest.raises(Exception, match="nonsense"):
        upgrade(engine, AFTER, scripts)
    engine.dispose()
    again = Store(database, ())
    assert again.get(shelf, "cutters", 1)["name"] == "owl"
    assert "motto" not in {c["name"] for c in inspect(again._engine).get_columns("shelves")}
    again.close()


def test_a_step_that_orphans_rows_is_undone(sqlite_store: Store, scripts: Path) -> None:
    shelf = sqlite_store.create_shelf("Home").id
    sqlite_store.create(shelf, "cutters", {"name": "owl"})
    sqlite_store.close()
    orphans = NEXT.replace("BROKEN", "op.execute('DELETE FROM shelves')")
    (scripts / "versions" / f"{AFTER}_motto.py").write_text(orphans)
    engine = open_engine(sqlite_store.url)
    with pytest.raises(StoreUnusable, match="nothing was changed"):
        upgrade(engine, AFTER, scripts)
    engine.dispose()
    assert sqlite_store.shelf_named("Home").id == shelf


def test_going_back_is_refused_and_drops_nothing(store: Store) -> None:
    store.create_shelf("Home")
    before = tables(store._engine)
    config = alembic_config()
    with store._engine.connect().execution_options(writes=True) as connection:
        config.attributes["connection"] = connection
        with pytest.raises(NotImplementedError, match="copy"):
            command.downgrade(config, "base")
    assert tables(store._engine) == before
    assert store.shelf_named().name == "Home"


def test_a_copy_holds_what_is_still_in_the_log_and_replaces_no_other(sqlite_store: Store) -> None:
    sqlite_store.create_shelf("Home")
    file = Path(str(sqlite_store.url.database))
    assert file.with_name(file.name + "-wal").stat().st_size > 0
    first, second = keep_copy(file, AFTER), keep_copy(file, AFTER)
    assert first != second
    with closing(sqlite3.connect(first)) as connection:
        assert connection.execute("SELECT name FROM shelves").fetchall() == [("Home",)]


def test_an_empty_database_is_not_copied(tmp_path: Path) -> None:
    engine = create_engine(f"sqlite:///{tmp_path / 'new.db'}")
    assert upgrade(engine) is None
    assert [p.name for p in tmp_path.iterdir()] == ["new.db"]
    engine.dispose()
