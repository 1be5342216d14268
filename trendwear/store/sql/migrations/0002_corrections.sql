-- Corrections of what was loaded.  The loaded rows stay as they are: views lay the
-- standing corrections over them.  A correction that is taken back stays too.

-- What a reading says where it names no number: worn through, so at least to the limit.
-- Its value is 0 with no upper bound until it is read back.
alter table readings add column worn_through boolean default false;

-- Readings taken out of the fit (`excluded`) or given another value (`amended`).
create table correction (
    entry integer primary key,
    reading integer not null,
    what varchar not null check (what in ('excluded', 'amended')),
    former varchar not null,
    written varchar,
    value_mm double, lower_mm double, upper_mm double, at_least boolean,
    half_width_mm double, step_mm double,
    unit varchar check (unit in ('mm', 'um', 'mil', 'in')),
    unit_from varchar check (unit_from in ('cell', 'row', 'register')),
    worn_through boolean,
    "by" varchar not null, why varchar not null, made_at timestamp not null,
    undone_by varchar, undone_why varchar, undone_at timestamp
);

-- Events that an engineer answers for: forecasts made before them still hold.
create table event_acceptance (
    entry integer primary key,
    event integer not null,
    "by" varchar not null, why varchar not null, made_at timestamp not null,
    undone_by varchar, undone_why varchar, undone_at timestamp
);

-- How a family wears, where a person says it and the readings are not asked.
create table families (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    family varchar not null,
    hours_per_start double check (hours_per_start >= 0),
    power double check (power between 0.2 and 3),
    "by" varchar, note varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);
