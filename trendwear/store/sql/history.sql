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

-- name: outages
select * from outages where replaced_by is null order by start, "end", place;

-- name: due_dates
select d.* replace (coalesce(m.machine, d.machine) as machine)
from due_dates d left join machine_now m on m.machine_key = d.machine_key
where d.replaced_by is null
order by d.machine_key, d.due, d.place;

-- name: concessions
select * from concession_now order by machine_key, clearance_key, date, entry;

-- name: dimensions
-- Measured sizes that count, in the order in which they were loaded.
select * from dimension_now order by machine_key, clearance_key, date nulls last, place;

-- name: own_materials
select * from materials where replaced_by is null order by place;

-- name: risks
select * from risks where replaced_by is null order by place;

-- name: parts
select * from parts where replaced_by is null order by place;
