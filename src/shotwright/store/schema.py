"""Tables of the project file, as a list of migrations that only ever grows."""

from __future__ import annotations

APPLICATION_ID = 0x73686F74  # "shot": marks the file as ours in its header

# MIGRATIONS[k] turns a file of version k into one of version k + 1. A released one is never changed: files
# of every version must open for ever, and tests/projects/ keeps one of each.
MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        "create table meta (key text primary key not null, value text not null) strict",
        "create table game (one integer primary key check (one = 1), text text not null) strict",
        """create table prototypes (
            number integer primary key,
            name text not null unique,
            mechanism text not null,
            release_height real not null,
            elevation_low real not null,
            elevation_high real not null,
            speed_low real,
            speed_high real,
            spin_parameter real not null,
            spin_parameter_sd real not null,
            motors integer,
            stored_energy real,
            mass real,
            length real,
            width real,
            height real,
            remark text not null
        ) strict""",
        """create table trials (
            number integer primary key,
            name text not null unique,
            prototype text not null references prototypes (name),
            date text,
            setting text not null,
            elevation real,
            release_height real,
            spin_parameter real,
            surface text not null check (surface in ('floor', 'plane')),
            surface_at real not null,
            mark_sd real not null,
            speed_sd real,
            elevation_sd real,
            same_ball integer not null check (same_ball in (0, 1)),
            position text,
            target text,
            origin text not null check (origin in ('measured', 'simulated')),
            remark text not null
        ) strict""",
        """create table shots (
            uid text primary key not null,
            trial text not null references trials (name),
            "order" integer not null check ("order" > 0),
            ball text,
            along real,
            "cross" real,
            height real,
            speed real,
            elevation real,
            spin real,
            hit integer check (hit in (0, 1)),
            remark text not null,
            set_aside text,
            source text not null,
            unique (trial, "order")
        ) strict""",
        """create table choices (
            number integer primary key,
            date text not null,
            prototype text not null references prototypes (name),
            reason text not null,
            evidence text not null
        ) strict""",
        "create table facts (key text primary key not null, value text not null) strict",
        "create table journal (number integer primary key, at text not null, what text not null) strict",
    ),
    (
        """create table launchers (
            number integer primary key,
            prototype text not null unique references prototypes (name),
            text text not null
        ) strict""",
    ),
    (
        "alter table shots add column speed_sd real",
        "alter table shots add column elevation_sd real",
        "alter table shots add column spin_sd real",
        "alter table shots add column clip text",
        "alter table shots add column first_frame integer",
        "alter table shots add column last_frame integer",
    ),
    (
        """create table crew_files (
            kind text primary key not null,
            text text not null
        ) strict""",
    ),
    (
        """create table drives (
            number integer primary key,
            name text not null unique,
            text text not null
        ) strict""",
    ),
)
