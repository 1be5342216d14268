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
      and before.cell is not distinct from incoming.cell
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
    select 'dimensions', key, file, sha256, machine, clearance, date from dimensions
    where replaced_by is null
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
-- Hours that fall although no meter was replaced or rolled over, for machines in `incoming`.
with points as (
    select machine_key, machine, date, run_hours, false as new_meter from readings
    union all select machine_key, machine, date, run_hours, false from work
    union all select machine_key, machine, date, run_hours, meter is not null from run_log_now
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
-- Every machine, position and kind, those that wait included, with its rows.
select 'kinds' as what, null as machine, kind as name, count(*) as rows
from clearances where replaced_by is null group by kind
union all
select 'machines', null, m.machine, (
    select count(*) from readings r where r.machine_key = m.machine_key
)
from machine_now m
union all
select 'positions', p.machine, p.clearance, (
    select count(*) from readings r
    where r.machine_key = p.machine_key and r.clearance_key = p.clearance_key
)
from position_now p
union all
select 'machines', null, machine, count(*) from waiting group by machine
union all
select 'positions', machine, clearance, count(*)
from waiting where clearance is not null group by machine, clearance;

-- name: perhaps_twice
-- Readings equal in all but an opening, plane, angle or repeat that one of them leaves out,
-- of the machines named in `incoming`.
select any_value(a.machine) as machine, count(*) as rows, min(a.date) as first_date
from readings a join readings b
  on a.machine_key = b.machine_key and a.clearance_key = b.clearance_key
 and a.date = b.date and a.state = b.state and a.value_mm = b.value_mm and a.entry < b.entry
where a.machine_key in (select machine_key from incoming)
  and (a.opening = b.opening or a.opening is null or b.opening is null)
  and (a.plane = b.plane or a.plane is null or b.plane is null)
  and (a.angle = b.angle or a.angle is null or b.angle is null)
  and (a.repeat = b.repeat or a.repeat is null or b.repeat is null)
group by a.machine_key order by a.machine_key;

-- name: read_in_another_unit
-- Readings whose unit was the register's when they were loaded and is not now.
select p.machine, p.clearance, r.unit as unit_then, any_value(p.unit) as unit_now, count(*) as rows
from readings r join position_now p
  on p.machine_key = r.machine_key and p.clearance_key = r.clearance_key
where r.unit_from = 'register' and r.unit <> p.unit
  and r.machine_key in (select machine_key from incoming)
group by p.machine, p.clearance, r.unit order by p.machine, p.clearance;
