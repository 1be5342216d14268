-- Rows under a former tag of their machine: see trendwear/store/retag.py.

-- name: tags_of_readings
-- Every tag as written, and the machine it counts for.
select distinct machine, machine_key from readings;

-- name: under_tags_readings
-- The rows of these tags.
select entry, key, machine, machine_key, clearance_key, date from readings
where machine in (select machine from asked);

-- name: retag_readings
-- The machine a row counts for; the tag as written stays.
update readings set machine_key = incoming.new, key = incoming.new_key
from incoming where readings.entry = incoming.entry;

-- name: tags_of_work
-- Every tag as written, and the machine it counts for.
select distinct machine, machine_key from work;

-- name: under_tags_work
-- The rows of these tags.
select entry, key, machine, machine_key, clearance_key, date from work
where machine in (select machine from asked);

-- name: retag_work
-- The machine a row counts for; the tag as written stays.
update work set machine_key = incoming.new, key = incoming.new_key
from incoming where work.entry = incoming.entry;

-- name: tags_of_events
-- Every tag as written, and the machine it counts for.
select distinct machine, machine_key from events;

-- name: under_tags_events
-- The rows of these tags.
select entry, key, machine, machine_key, date from events
where machine in (select machine from asked);

-- name: retag_events
-- The machine a row counts for; the tag as written stays.
update events set machine_key = incoming.new, key = incoming.new_key
from incoming where events.entry = incoming.entry;

-- name: tags_of_run_log
-- Every tag as written, and the machine it counts for.
select distinct machine, machine_key from run_log;

-- name: under_tags_run_log
-- The rows of these tags.
select entry, key, machine, machine_key, date from run_log
where machine in (select machine from asked);

-- name: retag_run_log
-- The machine a row counts for; the tag as written stays.
update run_log set machine_key = incoming.new, key = incoming.new_key
from incoming where run_log.entry = incoming.entry;

-- name: goals_of_work
-- Where parts went, as written.
select entry, to_machine, date from work where to_machine is not null;

-- name: retag_goals
-- A part went to the machine that bears another tag now.
update work set to_machine = incoming.to_machine
from incoming where work.entry = incoming.entry;
