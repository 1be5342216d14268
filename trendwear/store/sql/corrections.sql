-- Corrections: what they find, what they write.

-- name: readings_of
-- Every reading of one position, as it counts now.
select r.*, x.entry is not null as is_excluded, a.entry is not null as is_amended
from reading_now r
left join exclusion_now x on x.reading = r.reading
left join amendment_now a on a.reading = r.reading
where r.machine_key = $machine_key and r.clearance_key = $clearance_key
order by r.date nulls last, r.run_hours, r.reading;

-- name: stored_reading
-- A reading as it was loaded.
select * from readings where entry = $entry;

-- name: add_correction
insert into correction by name
select (select coalesce(max(entry), 0) + 1 from correction) as entry,
       current_timestamp::timestamp as made_at, *
from incoming;

-- name: standing_correction
-- The last correction of a reading that was not taken back.
select entry, former, written, "by", why, made_at from correction
where reading = $entry and what = $what and undone_at is null
order by entry desc limit 1;

-- name: undo_correction
update correction
set undone_by = $by, undone_why = $why, undone_at = current_timestamp::timestamp
where entry = $entry;

-- name: amendments_of
-- The values that now stand in place of those loaded, for the readings named in `incoming`.
select a.reading as entry, a.* exclude (entry, reading) from amendment_now a
where a.reading in (select entry from incoming);

-- name: events_of
-- Every event of one machine, with who answers for it.
select * from event_now where machine_key = $machine_key order by date, entry;

-- name: accept_event
insert into event_acceptance (entry, event, "by", why, made_at)
select (select coalesce(max(entry), 0) + 1 from event_acceptance), $event, $by, $why,
       current_timestamp::timestamp;

-- name: undo_acceptance
update event_acceptance
set undone_by = $by, undone_why = $why, undone_at = current_timestamp::timestamp
where event = $event and undone_at is null;
