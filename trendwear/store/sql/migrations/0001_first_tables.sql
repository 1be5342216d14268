-- The first tables.  Lengths are millimetres, hours running hours, dates without
-- a time zone.  A `…_key` holds a name as it compares (trendwear.wording.fold); the
-- other columns hold it as written.  No foreign keys: references are checked at load.

-- One row for each load that changed anything.
create table load (
    load integer primary key,
    loaded_at timestamp not null,
    version varchar not null
);

-- The files a load read.
create table source_file (
    load integer not null,
    name varchar not null,
    path varchar not null,
    sha256 varchar not null
);

-- Registers keep every version of a row: it holds from `loaded_by` on, until
-- `replaced_by` (empty: it still holds).  `place` is its first version's entry, so
-- that a changed row stays where it was.

create table machines (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar not null,
    machine varchar not null,
    description varchar, class varchar, site varchar, train varchar, spare_of varchar,
    open_days double, crew_days double, cost_if_past double,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table clearances (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar not null, clearance_key varchar not null,
    machine varchar not null, clearance varchar not null,
    kind varchar not null,
    basis varchar not null check (basis in ('diametral', 'radial', 'axial', 'thickness')),
    moves varchar not null check (moves in ('opens', 'closes')),
    unit varchar not null check (unit in ('mm', 'um', 'mil', 'in')),
    limit_mm double, limit_from timestamp, limit_source varchar,
    limit_meaning varchar check (limit_meaning in ('renew at overhaul', 'do not run beyond')),
    design_min_mm double, design_max_mm double,
    consequence varchar check (consequence in ('efficiency', 'leak', 'damage', 'people')),
    limiting boolean,
    part varchar, part_no varchar, quantity double, location varchar, slot varchar,
    "set" varchar, partner varchar,
    access varchar check (access in ('none', 'bearing cap', 'packing housing', 'casing')),
    family varchar, reduce varchar check (reduce in ('worst', 'mean')), method varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table duty_plan (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar not null,
    machine varchar not null,
    "from" timestamp not null, "to" timestamp,
    hours_per_day double not null, starts_per_month double, spread double,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table outages (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    outage varchar not null, start timestamp not null, "end" timestamp not null,
    site varchar, scope varchar, "freeze" timestamp,
    machines double, crew_days double, cost double,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table due_dates (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar not null,
    machine varchar not null, what varchar not null, due timestamp not null,
    tolerance_days double, authority varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table risks (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    consequence varchar not null, accepted double not null, "by" varchar, date timestamp,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table parts (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    part_no varchar not null, part varchar, supplier varchar, supplier_part_name varchar,
    supplier_part_no varchar, superseded_by varchar,
    lead_time_days double, price double, in_stock double,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table methods (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    method varchar not null, unit varchar,
    uncertainty_mm double, resolution_mm double, bias_mm double,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table names (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar, as_written_key varchar not null,
    machine varchar, as_written varchar not null, clearance varchar, kind varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);

-- What was seen and done is never changed by a load; a blank may be filled (see `filled`).

create table readings (
    entry integer primary key, key varchar not null unique, loaded_by integer not null,
    machine_key varchar not null, clearance_key varchar not null,
    machine varchar not null, clearance varchar not null,
    date timestamp, date_spread_days double,
    run_hours double, hours_spread double, starts double,
    state varchar not null check (state in ('as-found', 'as-left', 'check', 'not stated')),
    value_mm double not null, lower_mm double not null, upper_mm double not null,
    at_least boolean not null, half_width_mm double not null,
    stated_mm double, step_mm double,
    unit varchar not null check (unit in ('mm', 'um', 'mil', 'in')),
    unit_from varchar not null check (unit_from in ('cell', 'row', 'register')),
    basis varchar check (basis in ('diametral', 'radial', 'axial', 'thickness')),
    opening varchar, repeat varchar, plane varchar, angle varchar, method varchar,
    instrument varchar, surface varchar check (surface in ('dry', 'oily')),
    temperature varchar, "by" varchar, note varchar,
    written varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table work (
    entry integer primary key, key varchar not null unique, loaded_by integer not null,
    machine_key varchar not null, clearance_key varchar not null,
    machine varchar not null, clearance varchar not null,
    date timestamp not null, date_spread_days double,
    action varchar not null,
    run_hours double, hours_spread double,
    opening varchar, amount_mm double, unit varchar,
    part_no varchar, serial varchar, supplier varchar,
    to_clearance varchar, to_machine varchar, "by" varchar, note varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table events (
    entry integer primary key, key varchar not null unique, loaded_by integer not null,
    machine_key varchar not null,
    machine varchar not null,
    date timestamp not null, date_spread_days double,
    what varchar not null, severity varchar, clearances varchar, "by" varchar, note varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);

create table run_log (
    entry integer primary key, key varchar not null unique, loaded_by integer not null,
    machine_key varchar not null,
    machine varchar not null,
    date timestamp not null, date_spread_days double,
    run_hours double not null, hours_spread double, starts double,
    meter varchar check (meter = 'replaced'),
    file varchar, sheet varchar, row integer, sha256 varchar
);

-- Blanks of such rows that a later load filled: which cell, and from where.
create table filled (
    load integer not null, kept_in varchar not null, entry integer not null,
    "column" varchar not null, value varchar not null,
    file varchar, sheet varchar, row integer, sha256 varchar
);

-- Rows whose machine or position the register does not know yet, as read (JSON).
create table waiting (
    entry integer primary key, load integer not null,
    kept_in varchar not null, content varchar not null,
    machine varchar, clearance varchar, lacks varchar not null,
    file varchar, sheet varchar, row integer, sha256 varchar
);

-- Rows that were refused.
create table refused (
    load integer not null,
    file varchar, sheet varchar, row integer, "column" varchar, written varchar,
    reason varchar not null, instead varchar, sha256 varchar
);
