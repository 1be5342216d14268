-- Clearances past their limit that a person let run on: who signed, why, and until when.
create table concessions (
    entry integer primary key, place integer not null, key varchar not null,
    loaded_by integer not null, replaced_by integer,
    machine_key varchar not null, clearance_key varchar not null,
    machine varchar not null, clearance varchar not null, moves varchar,
    date timestamp not null, "by" varchar not null, why varchar not null,
    "until" timestamp, accepted_limit_mm double, unit varchar,
    file varchar, sheet varchar, row integer, sha256 varchar
);
