-- Sizes of the two partners of which a clearance is computed, and how materials grow.
create table dimensions (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar not null, clearance_key varchar not null,
    machine varchar not null, clearance varchar not null,
    date timestamp, date_spread_days double,
    run_hours double, hours_spread double,
    state varchar not null check (state in ('as-found', 'as-left', 'check', 'not stated')),
    opening varchar,
    part varchar not null check (part in ('bore', 'journal', 'pad bore', 'toward', 'away')),
    plane varchar, angle varchar, repeat varchar,
    value_mm double not null, step_mm double, stated_mm double,
    unit varchar not null check (unit in ('mm', 'um', 'mil', 'in')),
    method varchar, temperature_c double, temperature_written varchar, material varchar,
    instrument varchar, "by" varchar, note varchar,
    written varchar,
    file varchar, sheet varchar, row integer, cell varchar, sha256 varchar
);

create table materials (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    material varchar not null, expansion double not null check (expansion > 0),
    degree varchar not null check (degree in ('C', 'F')), source varchar,
    file varchar, sheet varchar, row integer, cell varchar, sha256 varchar
);
