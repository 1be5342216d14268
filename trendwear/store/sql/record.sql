-- The history of one machine.  `incoming` names its stored rows: kept_in, entry.

-- name: rows_of_machine
select * from query_table($kept_in) where machine_key = $machine_key order by entry;

-- name: aside_of_table
select a.entry, a.content, t.load from aside a join take_back t on t.entry = a.take_back
where a.kept_in = $kept_in;

-- name: bases_of
-- The basis that readings of each clearance take where they name none.
select clearance_key, basis from position_now
where machine_key = $machine_key and ($clearance_key is null or clearance_key = $clearance_key);

-- name: sets_of
select distinct "set" from clearances
where machine_key = $machine_key and "set" is not null
  and ($clearance_key is null or clearance_key = $clearance_key);

-- name: corrections_of_items
select 'readings' as kept_in, c.reading as entry, c.* exclude (entry, reading)
from correction c
where c.reading in (select entry from incoming where kept_in = 'readings')
order by c.entry;

-- name: acceptances_of_items
select 'events' as kept_in, a.event as entry, a.* exclude (entry, event)
from event_acceptance a
where a.event in (select entry from incoming where kept_in = 'events')
order by a.entry;

-- name: fills_of_items
select f.* from filled f
where (f.kept_in, f.entry) in (select (kept_in, entry) from incoming)
order by f.load;

-- name: rows_without_limit
-- Register rows that hold and have no accepted limit, of positions that have none at all.
select coalesce(m.machine, c.machine) as machine, c.clearance, c.kind, c.basis, c.moves, c.unit,
       c.limit_mm, c.limit_from, c.limit_source, c.limit_status, c.design_min_mm, c.design_max_mm,
       c.diameter, c.diameter_unit
from clearances c left join machine_now m on m.machine_key = c.machine_key
where c.replaced_by is null
  and not exists (
    select 1 from clearances o
    where o.replaced_by is null and o.machine_key = c.machine_key
      and o.clearance_key = c.clearance_key and o.moves = c.moves
      and o.limit_mm is not null and o.limit_status is distinct from 'proposed')
order by c.place;
