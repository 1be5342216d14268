-- What a load looks up before it adds, and how rows come in.  `incoming`, `retired`,
-- `filling` are frames registered for the statement.

-- name: last_entries
-- The highest entry of each table, to count on from.
select kept_in, coalesce(last_entry, 0)::integer as last_entry from (
    select 'machines' as kept_in, max(entry) as last_entry from machines
    union all select 'clearances', max(entry) from clearances
    union all select 'duty_plan', max(entry) from duty_plan
    union all select 'outages', max(entry) from outages
    union all select 'due_dates', max(entry) from due_dates
    union all select 'risks', max(entry) from risks
    union all select 'parts', max(entry) from parts
    union all select 'methods', max(entry) from methods
    union all select 'families', max(entry) from families
    union all select 'concessions', max(entry) from concessions
    union all select 'dimensions', max(entry) from dimensions
    union all select 'materials', max(entry) from materials
    union all select 'names', max(entry) from names
    union all select 'readings', max(entry) from readings
    union all select 'work', max(entry) from work
    union all select 'events', max(entry) from events
    union all select 'run_log', max(entry) from run_log
    union all select 'waiting', max(entry) from waiting
);

-- name: current_machines
-- The rows that hold now, in the order in which they were first loaded.
select * from machines where replaced_by is null order by place;

-- name: add_machines
insert into machines by name select * from incoming;

-- name: retire_machines
-- The old version of a changed row: it stays in the history.
update machines set replaced_by = $load from retired where machines.entry = retired.entry;

-- name: current_clearances
-- The rows that hold now, in the order in which they were first loaded.
select * from clearances where replaced_by is null order by place;

-- name: add_clearances
insert into clearances by name select * from incoming;

-- name: retire_clearances
-- The old version of a changed row: it stays in the history.
update clearances set replaced_by = $load from retired where clearances.entry = retired.entry;

-- name: current_duty_plan
-- The rows that hold now, in the order in which they were first loaded.
select * from duty_plan where replaced_by is null order by place;

-- name: add_duty_plan
insert into duty_plan by name select * from incoming;

-- name: retire_duty_plan
-- The old version of a changed row: it stays in the history.
update duty_plan set replaced_by = $load from retired where duty_plan.entry = retired.entry;

-- name: current_outages
-- The rows that hold now, in the order in which they were first loaded.
select * from outages where replaced_by is null order by place;

-- name: add_outages
insert into outages by name select * from incoming;

-- name: retire_outages
-- The old version of a changed row: it stays in the history.
update outages set replaced_by = $load from retired where outages.entry = retired.entry;

-- name: current_due_dates
-- The rows that hold now, in the order in which they were first loaded.
select * from due_dates where replaced_by is null order by place;

-- name: add_due_dates
insert into due_dates by name select * from incoming;

-- name: retire_due_dates
-- The old version of a changed row: it stays in the history.
update due_dates set replaced_by = $load from retired where due_dates.entry = retired.entry;

-- name: current_concessions
-- The rows that hold now, in the order in which they were first loaded.
select * from concessions where replaced_by is null order by place;

-- name: add_concessions
insert into concessions by name select * from incoming;

-- name: retire_concessions
-- The old version of a changed row: it stays in the history.
update concessions set replaced_by = $load from retired where concessions.entry = retired.entry;

-- name: current_dimensions
-- The rows that hold now, in the order in which they were first loaded.
select * from dimensions where replaced_by is null order by place;

-- name: add_dimensions
insert into dimensions by name select * from incoming;

-- name: retire_dimensions
-- The old version of a changed row: it stays in the history.
update dimensions set replaced_by = $load from retired where dimensions.entry = retired.entry;

-- name: current_materials
-- The rows that hold now, in the order in which they were first loaded.
select * from materials where replaced_by is null order by place;

-- name: add_materials
insert into materials by name select * from incoming;

-- name: retire_materials
-- The old version of a changed row: it stays in the history.
update materials set replaced_by = $load from retired where materials.entry = retired.entry;

-- name: current_risks
-- The rows that hold now, in the order in which they were first loaded.
select * from risks where replaced_by is null order by place;

-- name: add_risks
insert into risks by name select * from incoming;

-- name: retire_risks
-- The old version of a changed row: it stays in the history.
update risks set replaced_by = $load from retired where risks.entry = retired.entry;

-- name: current_parts
-- The rows that hold now, in the order in which they were first loaded.
select * from parts where replaced_by is null order by place;

-- name: add_parts
insert into parts by name select * from incoming;

-- name: retire_parts
-- The old version of a changed row: it stays in the history.
update parts set replaced_by = $load from retired where parts.entry = retired.entry;

-- name: current_methods
-- The rows that hold now, in the order in which they were first loaded.
select * from methods where replaced_by is null order by place;

-- name: add_methods
insert into methods by name select * from incoming;

-- name: retire_methods
-- The old version of a changed row: it stays in the history.
update methods set replaced_by = $load from retired where methods.entry = retired.entry;

-- name: current_families
-- The rows that hold now, in the order in which they were first loaded.
select * from families where replaced_by is null order by place;

-- name: add_families
insert into families by name select * from incoming;

-- name: retire_families
-- The old version of a changed row: it stays in the history.
update families set replaced_by = $load from retired where families.entry = retired.entry;

-- name: current_names
-- The rows that hold now, in the order in which they were first loaded.
select * from names where replaced_by is null order by place;

-- name: add_names
insert into names by name select * from incoming;

-- name: retire_names
-- The old version of a changed row: it stays in the history.
update names set replaced_by = $load from retired where names.entry = retired.entry;

-- name: same_key_readings
-- What is stored under the keys that come in.
select * from readings where key in (select key from incoming);

-- name: add_readings
insert into readings by name select * from incoming;

-- name: fill_readings
-- Blanks take what the new row says; what was said before stays.
update readings set
    date_spread_days = coalesce(readings.date_spread_days, filling.date_spread_days),
    run_hours = coalesce(readings.run_hours, filling.run_hours),
    hours_spread = coalesce(readings.hours_spread, filling.hours_spread),
    starts = coalesce(readings.starts, filling.starts),
    stated_mm = coalesce(readings.stated_mm, filling.stated_mm),
    basis = coalesce(readings.basis, filling.basis),
    method = coalesce(readings.method, filling.method),
    instrument = coalesce(readings.instrument, filling.instrument),
    surface = coalesce(readings.surface, filling.surface),
    temperature = coalesce(readings.temperature, filling.temperature),
    "by" = coalesce(readings."by", filling."by"),
    note = coalesce(readings.note, filling.note)
from filling where readings.entry = filling.entry;

-- name: same_key_work
-- What is stored under the keys that come in.
select * from work where key in (select key from incoming);

-- name: add_work
insert into work by name select * from incoming;

-- name: fill_work
-- Blanks take what the new row says; what was said before stays.
update work set
    date_spread_days = coalesce(work.date_spread_days, filling.date_spread_days),
    run_hours = coalesce(work.run_hours, filling.run_hours),
    hours_spread = coalesce(work.hours_spread, filling.hours_spread),
    amount_mm = coalesce(work.amount_mm, filling.amount_mm),
    unit = coalesce(work.unit, filling.unit),
    part_no = coalesce(work.part_no, filling.part_no),
    serial = coalesce(work.serial, filling.serial),
    supplier = coalesce(work.supplier, filling.supplier),
    to_machine = coalesce(work.to_machine, filling.to_machine),
    "by" = coalesce(work."by", filling."by"),
    note = coalesce(work.note, filling.note)
from filling where work.entry = filling.entry;

-- name: same_key_events
-- What is stored under the keys that come in.
select * from events where key in (select key from incoming);

-- name: add_events
insert into events by name select * from incoming;

-- name: fill_events
-- Blanks take what the new row says; what was said before stays.
update events set
    date_spread_days = coalesce(events.date_spread_days, filling.date_spread_days),
    severity = coalesce(events.severity, filling.severity),
    clearances = coalesce(events.clearances, filling.clearances),
    "by" = coalesce(events."by", filling."by"),
    note = coalesce(events.note, filling.note)
from filling where events.entry = filling.entry;

-- name: same_key_run_log
-- What is stored under the keys that come in.
select * from run_log where key in (select key from incoming);

-- name: add_run_log
insert into run_log by name select * from incoming;

-- name: fill_run_log
-- Blanks take what the new row says; what was said before stays.
update run_log set
    date_spread_days = coalesce(run_log.date_spread_days, filling.date_spread_days),
    hours_spread = coalesce(run_log.hours_spread, filling.hours_spread),
    starts = coalesce(run_log.starts, filling.starts)
from filling where run_log.entry = filling.entry;
