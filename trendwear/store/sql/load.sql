-- The record of a load: its number, its files, and what it could not take in.

-- name: next_load
select coalesce(max(load), 0) + 1 from load;

-- name: now
select current_timestamp::timestamp;

-- name: add_load
insert into load values ($load, $loaded_at, $version);

-- name: add_source_files
insert into source_file by name select * from incoming;

-- name: add_filled
insert into filled by name select * from incoming;

-- name: add_refused
-- A row refused before for the same reason is not written down again.
insert into refused by name
select distinct * from incoming
where not exists (
    select 1 from refused as before
    where before.sha256 is not distinct from incoming.sha256
      and before.file is not distinct from incoming.file
      and before.sheet is not distinct from incoming.sheet
      and before.row is not distinct from incoming.row
      and before."column" is not distinct from incoming."column"
      and before.reason = incoming.reason
);

-- name: refused_by
-- How many rows a load wrote down as refused.
select count(*) from refused where load = $load;

-- name: all_waiting
-- Rows that wait, in the order in which they came.
select * from waiting order by entry;

-- name: waiting_entries
select entry from waiting;

-- name: new_waiting
-- Which of the rows are not waiting already.
select place from incoming
where not exists (
    select 1 from waiting
    where waiting.kept_in = incoming.kept_in and waiting.content = incoming.content
);

-- name: add_waiting
insert into waiting by name select * from incoming;

-- name: end_waiting
delete from waiting where entry in (select entry from incoming);

-- name: still_lacks
-- What a waiting row lacks may change as the register grows.
update waiting set lacks = incoming.lacks from incoming where waiting.entry = incoming.entry;

-- name: waiting_positions
-- Positions that wait, with how many rows of which sheet.
select machine, clearance, kept_in as sheet, any_value(lacks) as lacks, count(*)::bigint as rows
from waiting
group by machine, clearance, kept_in
order by machine, clearance, sheet;

-- name: gone_from_file
-- Rows that an earlier version of a file held and this one does not.
-- `incoming`: file, sha256 of the files now; `keys`: file, kept_in, key of their rows.
with held as (
    select 'readings' as kept_in, key, file, sha256, machine, clearance, date from readings
    union all select 'work', key, file, sha256, machine, clearance, date from work
    union all select 'events', key, file, sha256, machine, what, date from events
    union all select 'run_log', key, file, sha256, machine, null, date from run_log
    union all
    select 'clearances', key, file, sha256, machine, clearance, null from clearances
    where replaced_by is null
    union all
    select 'machines', key, file, sha256, machine, null, null from machines
    where replaced_by is null
)
select held.kept_in, held.file, held.machine, held.clearance, held.date
from held join incoming on held.file = incoming.file and held.sha256 <> incoming.sha256
where not exists (
    select 1 from keys where keys.kept_in = held.kept_in and keys.key = held.key
)
order by held.kept_in, held.file, held.machine, held.clearance, held.date;

-- name: falling_hours
-- Hours that fall although no new meter is recorded, for machines named in `incoming`.
with points as (
    select machine_key, machine, date, run_hours, false as new_meter from readings
    union all select machine_key, machine, date, run_hours, false from work
    union all select machine_key, machine, date, run_hours, meter is not null from run_log
), dated as (
    select * from points
    where date is not null and run_hours is not null
      and machine_key in (select machine_key from incoming)
), metered as (
    select *, sum(new_meter::integer) over (
        partition by machine_key order by date, new_meter
        rows between unbounded preceding and current row
    ) as meter
    from dated
), beside as (
    select *, max(run_hours) over (
        partition by machine_key, meter order by date, run_hours
        rows between unbounded preceding and 1 preceding
    ) as before
    from metered
)
select any_value(machine) as machine, count(*) as rows, min(date) as first_date
from beside where run_hours < before
group by machine_key order by machine_key;

-- name: spellings
-- Every position and kind in the register, with its readings.
select 'kind' as what, null as machine, kind as name, count(*) as rows
from clearances where replaced_by is null group by kind
union all
select 'position', any_value(c.machine), any_value(c.clearance), (
    select count(*) from readings r
    where r.machine_key = c.machine_key and r.clearance_key = c.clearance_key
)
from clearances c where replaced_by is null group by c.machine_key, c.clearance_key;
