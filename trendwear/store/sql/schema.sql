-- The store's record of its own form.

-- name: table_names
-- Every table in the file: tells a store from a stranger's database and from a new file.
select table_name from duckdb_tables() where schema_name = 'main' and not internal and not temporary;

-- name: make_schema_record
-- The first thing in a new store.
create table schema_step (
    number integer primary key,
    name varchar not null,
    done_at timestamp not null
);
create table schema_views (mark varchar not null);

-- name: steps_done
-- The number of the last migration that ran; 0 in a new store.
select coalesce(max(number), 0) from schema_step;

-- name: record_step
-- Stands in the same transaction as the migration itself.
insert into schema_step values ($number, $name, current_timestamp::timestamp);

-- name: views_made
-- Which version of the views the store holds.
select mark from schema_views;

-- name: record_views
-- Stands in the same transaction as the making of the views.
delete from schema_views;
insert into schema_views values ($mark);
