-- What is read back out of the store.

-- name: machines
select * from machine_now order by place;

-- name: clearances
-- All limits, those in sequence included, in the order the register was loaded.
select * from clearance_now order by place;

-- name: readings
select * from reading_now order by machine_key, clearance_key, date nulls last, run_hours, reading;

-- name: work
select * from work_now order by machine_key, date, entry;

-- name: events
select * from event_now order by machine_key, date, entry;

-- name: run_log
select * from run_log_now order by machine_key, date, entry;

-- name: duty_plan
select * from duty_plan_now order by machine_key, "from";

-- name: own_methods
select * from methods where replaced_by is null order by place;

-- name: families
select * from families where replaced_by is null order by place;

-- name: record_of_register
-- Every version of a machine's register rows, old ones too; all positions where none is named.
select c.machine, c.clearance, c.moves, c.kind, c.basis, c.unit, c.limit_mm, c.limit_from,
       c.limit_source, c.design_min_mm, c.design_max_mm,
       c.file, c.sheet, c.row, c.cell, c.sha256, l.loaded_at, c.replaced_by is not null as replaced
from clearances c left join load l on l.load = c.loaded_by
where c.machine_key = $machine_key
  and ($clearance_key is null or c.clearance_key = $clearance_key)
order by c.place, c.entry;

-- name: record_of_readings
-- Readings with where and when they came in.
select r.* exclude (excluded), l.loaded_at
from reading_now r join readings s on s.entry = r.reading left join load l on l.load = s.loaded_by
where r.machine_key = $machine_key
  and ($clearance_key is null or r.clearance_key = $clearance_key)
order by r.clearance_key, r.date nulls last, r.run_hours, r.reading;

-- name: record_of_work
select w.*, l.loaded_at
from work_now w join work s on s.entry = w.entry left join load l on l.load = s.loaded_by
where w.machine_key = $machine_key
  and ($clearance_key is null or w.clearance_key = $clearance_key)
order by w.date, w.entry;

-- name: record_of_fills
-- Blanks that later loads filled, of readings and work.
select f.kept_in, f.entry, f."column", f.value, f.file, f.sheet, f.row, f.cell, f.sha256, l.loaded_at
from filled f left join load l on l.load = f.load
where (f.kept_in = 'readings' and f.entry in (
          select entry from readings
          where machine_key = $machine_key
            and ($clearance_key is null or clearance_key = $clearance_key)))
   or (f.kept_in = 'work' and f.entry in (
          select entry from work
          where machine_key = $machine_key
            and ($clearance_key is null or clearance_key = $clearance_key)))
order by f.load, f.kept_in, f.entry;

-- name: record_of_refused
-- Refused rows; they name no machine for certain, so all are given.
select r.*, l.loaded_at from refused r left join load l on l.load = r.load
order by r.load, r.file, r.sheet, r.row;

-- name: outages
select * from outages where replaced_by is null order by start, "end", place;

-- name: due_dates
select d.* replace (coalesce(m.machine, d.machine) as machine)
from due_dates d left join machine_now m on m.machine_key = d.machine_key
where d.replaced_by is null
order by d.machine_key, d.due, d.place;

-- name: concessions
select * from concession_now order by machine_key, clearance_key, date, entry;

-- name: record_of_concessions
-- Every concession of a machine or clearance, those replaced by a later row too.
select c.machine, c.clearance, c.moves, c.date, c."by", c.why, c."until",
       round(c.accepted_limit_mm / case c.unit when 'in' then 25.4 when 'mil' then 0.0254
                                               when 'um' then 0.001 else 1.0 end, 9)
           as accepted_limit,
       c.unit, c.file, c.sheet, c.row, c.cell, c.sha256, l.loaded_at,
       c.replaced_by is not null as replaced
from concessions c left join load l on l.load = c.loaded_by
where c.machine_key = $machine_key
  and ($clearance_key is null or c.clearance_key = $clearance_key)
order by c.place, c.entry;

-- name: dimensions
-- Measured sizes that count, in the order in which they were loaded.
select * from dimension_now order by machine_key, clearance_key, date nulls last, place;

-- name: own_materials
select * from materials where replaced_by is null order by place;

-- name: risks
select * from risks where replaced_by is null order by place;

-- name: parts
select * from parts where replaced_by is null order by place;
