-- Loads taken back and put in again.  `incoming` is a frame registered for the statement.

-- name: load_number
select load, loaded_at from load where load = $load;

-- name: load_numbers
select load, loaded_at from load order by load;

-- name: taken_back
-- The standing take-back of a load.
select entry, "by", why, made_at from take_back where load = $load and undone_at is null;

-- name: add_take_back
insert into take_back (entry, load, "by", why, made_at)
select $entry, $load, $by, $why, current_timestamp::timestamp;

-- name: next_take_back
select coalesce(max(entry), 0) + 1 from take_back;

-- name: undo_take_back
update take_back
set undone_by = $by, undone_why = $why, undone_at = current_timestamp::timestamp
where entry = $entry;

-- name: rows_of_load
select * from query_table($kept_in) where loaded_by = $load order by entry;

-- name: rows_ended_by
-- Register rows that a load replaced.
select * from query_table($kept_in)
where replaced_by = $load and loaded_by <> $load order by entry;

-- name: rows_by_entry
select * from query_table($kept_in) where entry in (select entry from incoming) order by entry;

-- name: rows_of_places
-- Every version of the register rows whose `place` is in `incoming`.
select * from query_table($kept_in) where place in (select place from incoming) order by entry;

-- name: standing_keys
-- Register rows that hold now under the keys that come in.
select entry, key, loaded_by from query_table($kept_in)
where replaced_by is null and key in (select key from incoming);

-- name: settled_of_load
-- Rows of a load that waited, and came in when another load brought their position.
select kept.* from query_table($kept_in) as kept
where kept.loaded_by <> $load and exists (
    select 1 from waited
    where waited.load = $load and waited.kept_in = $kept_in
      and waited.ended_by = kept.loaded_by
      and waited.sha256 is not distinct from kept.sha256
      and waited.sheet is not distinct from kept.sheet
      and waited.row is not distinct from kept.row
)
order by kept.entry;

-- name: aside_of_settled
-- Rows of other loads, taken back before, that this load had brought in: they lie with it now.
update aside set take_back = $take_back
where aside.content is not null and aside.kept_in <> 'waiting' and exists (
    select 1 from waited
    where waited.ended_by = $load and waited.load <> $load and waited.kept_in = aside.kept_in
      and waited.sha256 is not distinct from aside.sha256
      and waited.sheet is not distinct from aside.sheet
      and waited.row is not distinct from aside.row
);

-- name: aside_with_their_own
-- The same the other way round: what lies with this load, of loads that are still taken back.
update aside set take_back = t.entry
from waited w join take_back t on t.load = w.load and t.undone_at is null
where aside.take_back = $take_back and aside.content is not null
  and aside.kept_in = w.kept_in and w.ended_by = $load and w.load <> $load
  and w.sha256 is not distinct from aside.sha256
  and w.sheet is not distinct from aside.sheet
  and w.row is not distinct from aside.row;

-- name: waiting_of_load
select * from waiting where load = $load order by entry;

-- name: keep_waited
insert into waited by name
select *, $load as ended_by, null::integer as reopened_by from waiting
where entry in (select entry from incoming);

-- name: reopened
-- Rows that waited until this load; `take_back` where their own load does not count now.
select w.* exclude (ended_by, reopened_by), t.entry as take_back
from waited w left join take_back t on t.load = w.load and t.undone_at is null
where w.ended_by = $load and w.reopened_by is null and w.load <> $load
order by w.entry;

-- name: mark_reopened
update waited set reopened_by = $take_back
where ended_by = $load and reopened_by is null and entry in (select entry from incoming);

-- name: reopened_by
select entry from waited where reopened_by = $take_back;

-- name: end_aside_waiting
delete from aside where kept_in = 'waiting' and entry in (select entry from incoming);

-- name: unmark_reopened
update waited set reopened_by = null where reopened_by = $take_back;

-- name: later_fills
-- Blanks of the rows in `incoming` that other loads filled.
select load, entry from filled
where kept_in = $kept_in and load <> $load and entry in (select entry from incoming)
  and load not in (select load from take_back where undone_at is null);

-- name: fills_of_load
select * from filled where load = $load;

-- name: add_aside
insert into aside by name select * from incoming;

-- name: aside_of
select * from aside where take_back = $take_back order by kept_in, entry;

-- name: aside_entries
-- Rows of a table that lie aside now, and the load each came with.
select a.entry, t.load from aside a join take_back t on t.entry = a.take_back
where a.kept_in = $kept_in;

-- name: end_aside
delete from aside where take_back = $take_back;

-- name: last_aside
-- Numbers that are taken although their rows are not in their table.
select kept_in, max(entry)::integer from (
    select kept_in, entry from aside
    union all select 'waiting', entry from waited
) group by kept_in;

-- name: files_taken_back
select distinct a.sha256, a.file, t.load, t."by", t.why, t.made_at
from aside a join take_back t on t.entry = a.take_back
where a.sha256 is not null order by t.load, a.file;

-- name: corrections_of_entries
select count(*) from correction where undone_at is null and reading in (select entry from incoming);

-- name: placed_rows
-- Every row that names a machine or a position which the register must know.
select 'readings' as kept_in, entry, loaded_by, machine_key, clearance_key, machine, clearance
from readings
union all
select 'work', entry, loaded_by, machine_key, clearance_key, machine, clearance from work
union all
select 'concessions', entry, loaded_by, machine_key, clearance_key, machine, clearance
from concessions where replaced_by is null
union all
select 'dimensions', entry, loaded_by, machine_key, clearance_key, machine, clearance
from dimensions where replaced_by is null
union all select 'events', entry, loaded_by, machine_key, null, machine, null from events
union all select 'run_log', entry, loaded_by, machine_key, null, machine, null from run_log
union all
select 'duty_plan', entry, loaded_by, machine_key, null, machine, null
from duty_plan where replaced_by is null
union all
select 'due_dates', entry, loaded_by, machine_key, null, machine, null
from due_dates where replaced_by is null;

-- name: units_gone
-- Readings whose unit was the register's, which says another now.
select 'readings' as kept_in, r.entry, r.loaded_by, p.machine, p.clearance
from readings r join position_now p
  on p.machine_key = r.machine_key and p.clearance_key = r.clearance_key
where r.unit_from = 'register' and r.unit <> p.unit;

-- name: put_aside_readings
delete from readings where entry in (select entry from incoming);

-- name: put_aside_work
delete from work where entry in (select entry from incoming);

-- name: put_aside_events
delete from events where entry in (select entry from incoming);

-- name: put_aside_run_log
delete from run_log where entry in (select entry from incoming);

-- name: put_readings
-- The cells of stored rows become those of `filling`, blanks included.
update readings set
    date_spread_days = filling.date_spread_days, run_hours = filling.run_hours,
    hours_spread = filling.hours_spread, starts = filling.starts,
    stated_mm = filling.stated_mm, basis = filling.basis, method = filling.method,
    instrument = filling.instrument, surface = filling.surface,
    temperature = filling.temperature, "by" = filling."by", note = filling.note
from filling where readings.entry = filling.entry;

-- name: put_work
update work set
    date_spread_days = filling.date_spread_days, run_hours = filling.run_hours,
    hours_spread = filling.hours_spread, amount_mm = filling.amount_mm, unit = filling.unit,
    part_no = filling.part_no, serial = filling.serial, supplier = filling.supplier,
    to_machine = filling.to_machine, "by" = filling."by", note = filling.note
from filling where work.entry = filling.entry;

-- name: put_events
update events set
    date_spread_days = filling.date_spread_days, severity = filling.severity,
    clearances = filling.clearances, "by" = filling."by", note = filling.note
from filling where events.entry = filling.entry;

-- name: put_run_log
update run_log set
    date_spread_days = filling.date_spread_days, hours_spread = filling.hours_spread,
    starts = filling.starts
from filling where run_log.entry = filling.entry;

-- name: loads
-- Every load, with its files and what became of it.
select l.load, l.loaded_at, l.version,
       (select string_agg(distinct f.name, ', ' order by f.name)
        from source_file f where f.load = l.load) as files,
       t."by" as taken_back_by, t.why as taken_back_why, t.made_at as taken_back_at,
       t.undone_by, t.undone_why, t.undone_at
from load l left join take_back t on t.load = l.load
order by l.load, t.entry;

-- name: facts_by_load
select loaded_by as load, count(*)::integer as rows, count(*)::integer as counting
from query_table($kept_in) group by loaded_by;

-- name: registers_by_load
select loaded_by as load, count(*)::integer as rows,
       (count(*) filter (where replaced_by is null))::integer as counting
from query_table($kept_in) group by loaded_by;

-- name: aside_by_load
select t.load, count(*)::integer as rows, 0 as counting
from aside a join take_back t on t.entry = a.take_back
where a.kept_in = $kept_in and a.content is not null group by t.load;

-- name: waiting_by_load
select load, count(*)::integer as rows, 0 as counting from waiting group by load;
