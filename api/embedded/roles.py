"""Which roles log in to the database, and what may each do? The SQL, for our own server and for anybody's.

The owner migrates: it owns the tables and passes row security. The application's role works: it is no
superuser, owns nothing, cannot pass row security and belongs to no other role, so that it reads and writes
one shop's rows at a time whatever it is made to run. Default privileges hand it every table that the owner
makes; a migration takes back what is too much, such as changing history.
"""

from typing import Final

OWNER: Final = "roof_owner"
APP: Final = "roof_app"
DATABASE: Final = "roofs"

# The application's own statements take milliseconds and its chunks of background work less than a minute.
STATEMENT_TIMEOUT: Final = "30s"
IDLE_IN_TRANSACTION_TIMEOUT: Final = "60s"

CREATE_DATABASE: Final = (
    f"CREATE DATABASE {DATABASE} OWNER {OWNER} TEMPLATE template0 "
    "ENCODING 'UTF8' LOCALE_PROVIDER builtin BUILTIN_LOCALE 'C.UTF-8' LOCALE 'C'"
)


def role_statements(*, makes_databases: bool) -> tuple[str, ...]:
    """The statements that make both roles, or put right those that exist; no passwords.

    `makes_databases` lets the owner create databases, which only a server for tests needs.
    """
    createdb = "CREATEDB" if makes_databases else "NOCREATEDB"
    return (
        _create_unless_there(OWNER),
        _create_unless_there(APP),
        f"ALTER ROLE {OWNER} LOGIN NOSUPERUSER NOCREATEROLE NOREPLICATION {createdb} BYPASSRLS",
        f"ALTER ROLE {APP} LOGIN NOSUPERUSER NOCREATEROLE NOREPLICATION NOCREATEDB NOBYPASSRLS",
        f"ALTER ROLE {APP} SET statement_timeout = '{STATEMENT_TIMEOUT}'",
        f"ALTER ROLE {APP} SET idle_in_transaction_session_timeout = '{IDLE_IN_TRANSACTION_TIMEOUT}'",
    )


def grant_statements() -> tuple[str, ...]:
    """The statements to run inside a database, as a superuser, before the owner makes a table in it."""
    default = f"ALTER DEFAULT PRIVILEGES FOR ROLE {OWNER} IN SCHEMA public GRANT"
    return (
        "REVOKE CREATE ON SCHEMA public FROM PUBLIC",
        f"GRANT USAGE, CREATE ON SCHEMA public TO {OWNER}",
        f"GRANT USAGE ON SCHEMA public TO {APP}",
        f"{default} SELECT, INSERT, UPDATE, DELETE ON TABLES TO {APP}",
        f"{default} USAGE, SELECT ON SEQUENCES TO {APP}",
    )


def connect_statements() -> tuple[str, ...]:
    """The statements that keep every other role out of the database."""
    return (
        f"REVOKE ALL ON DATABASE {DATABASE} FROM PUBLIC",
        f"GRANT CONNECT ON DATABASE {DATABASE} TO {APP}",
    )


def script() -> str:
    """Everything above as a psql script for a PostgreSQL 17 or later that we did not start."""
    is_there = f"SELECT FROM pg_database WHERE datname = '{DATABASE}'"
    lines = [
        "-- Run by a superuser: psql --set ON_ERROR_STOP=1 --file THIS_FILE postgres",
        f"-- Then give each role a password of its own: \\password {OWNER} and \\password {APP}",
        *(f"{statement};" for statement in role_statements(makes_databases=False)),
        f"SELECT $${CREATE_DATABASE}$$ WHERE NOT EXISTS ({is_there}) \\gexec",
        f"\\connect {DATABASE}",
        *(f"{statement};" for statement in (*connect_statements(), *grant_statements())),
    ]
    return "\n".join(lines) + "\n"


def _create_unless_there(role: str) -> str:
    return f"DO $$ BEGIN CREATE ROLE {role}; EXCEPTION WHEN duplicate_object THEN NULL; END $$"
