-- Views: the store as it is used.  They hold no data.
-- Names are shown as the register spells them; file, sheet, row and cell say where a row was read.

-- Every machine, with what its row says: those of the register, and those only clearances name.
create or replace view machine_now as
select * exclude (key, loaded_by, replaced_by) from machines where replaced_by is null
union all by name
select min(place) as place, machine_key, arg_min(machine, place) as machine
from clearances
where replaced_by is null
  and machine_key not in (select machine_key from machines where replaced_by is null)
group by machine_key;

-- Every limit that holds, limits in sequence included; one that is only proposed is none.
create or replace view clearance_now as
select c.* exclude (key, loaded_by, replaced_by) replace (
           m.machine as machine,
           case when c.limit_status = 'proposed' then null else c.limit_mm end as limit_mm,
           case when c.limit_status = 'proposed' then null else c.limit_source end as limit_source)
from clearances c join machine_now m on m.machine_key = c.machine_key
where c.replaced_by is null;

-- One row for each position: what is said of it in its newest register row.
create or replace view position_now as
select machine_key, clearance_key,
       any_value(machine) as machine,
       arg_min(clearance, place) as clearance,
       arg_max(basis, entry) as basis,
       arg_max(unit, entry) as unit,
       arg_max(method, entry) as method
from clearance_now
group by machine_key, clearance_key;

-- The corrections that stand: of several amendments of a reading the last.
create or replace view exclusion_now as
select * from correction where what = 'excluded' and undone_at is null
qualify row_number() over (partition by reading order by entry desc) = 1;

create or replace view amendment_now as
select * from correction where what = 'amended' and undone_at is null
qualify row_number() over (partition by reading order by entry desc) = 1;

-- Readings as they count; a blank basis or method is the register's.
create or replace view reading_corrected as
select r.entry as reading,
       r.* exclude (entry, key, loaded_by, machine, clearance, basis, method,
                    date_spread_days, hours_spread, step_mm, value_mm, lower_mm, upper_mm,
                    at_least, half_width_mm, unit, unit_from, worn_through, written),
       coalesce(p.machine, r.machine) as machine,
       coalesce(p.clearance, r.clearance) as clearance,
       coalesce(r.basis, p.basis) as basis,
       coalesce(r.method, p.method) as method,
       coalesce(r.date_spread_days, 0) as date_spread_days,
       coalesce(r.hours_spread, 0) as hours_spread,
       case when a.entry is null then r.step_mm else a.step_mm end as step_mm,
       coalesce(a.value_mm, r.value_mm) as value_mm,
       coalesce(a.lower_mm, r.lower_mm) as lower_mm,
       coalesce(a.upper_mm, r.upper_mm) as upper_mm,
       coalesce(a.at_least, r.at_least) as at_least,
       coalesce(a.half_width_mm, r.half_width_mm) as half_width_mm,
       coalesce(a.unit, r.unit) as unit,
       coalesce(a.unit_from, r.unit_from) as unit_from,
       coalesce(a.worn_through, r.worn_through) as worn_through,
       coalesce(a.written, r.written) as written,
       x.entry is not null as excluded,
       x.why || ' (' || x."by" || ')' as excluded_why
from readings r
left join position_now p on p.machine_key = r.machine_key and p.clearance_key = r.clearance_key
left join amendment_now a on a.reading = r.entry
left join exclusion_now x on x.reading = r.entry;

-- Readings that say worn through, and how far that is at least: the limit that held on
-- that day, else the reading before.  0.01 mm is the step of a bench gauge (common
-- practice, no source), taken where the position has no reading with one.
create or replace view worn_through_now as
with worn as (
    select * from reading_corrected where worn_through
), limits as (
    select w.reading, c.limit_mm, c.basis
    from worn w join clearance_now c
      on c.machine_key = w.machine_key and c.clearance_key = w.clearance_key
    where c.moves = 'opens'
      and (c.limit_from is null or w.date is null or c.limit_from <= w.date)
    qualify row_number() over (
        partition by w.reading order by c.limit_from desc nulls last
    ) = 1
), before as (
    select w.reading, r.value_mm, r.basis
    from worn w join reading_corrected r
      on r.machine_key = w.machine_key and r.clearance_key = w.clearance_key
    where not r.worn_through and not r.excluded
      and (r.date < w.date or (w.date is null and r.run_hours < w.run_hours))
    qualify row_number() over (
        partition by w.reading order by r.date desc nulls last, r.run_hours desc, r.value_mm desc
    ) = 1
), steps as (
    select machine_key, clearance_key, min(step_mm) as step_mm
    from reading_corrected group by machine_key, clearance_key
)
select w.reading,
       coalesce(l.limit_mm, b.value_mm) as bound_mm,
       case when l.limit_mm is not null then l.basis else coalesce(b.basis, w.basis) end as basis,
       case when l.limit_mm is not null then 'worn through: counted as at least the limit'
            when b.value_mm is not null
            then 'worn through: no limit, counted as at least the reading before'
       end as counted,
       coalesce(s.step_mm, 0.01) as step_mm
from worn w
left join limits l on l.reading = w.reading
left join before b on b.reading = w.reading
left join steps s on s.machine_key = w.machine_key and s.clearance_key = w.clearance_key;

-- Readings as they are handed on.
create or replace view reading_now as
select r.* exclude (worn_through) replace (
           case when w.reading is null then r.value_mm else w.bound_mm end as value_mm,
           case when w.reading is null then r.lower_mm else w.bound_mm end as lower_mm,
           coalesce(w.step_mm, r.step_mm) as step_mm,
           coalesce(w.basis, r.basis) as basis,
           nullif(concat_ws('; ', r.note, w.counted), '') as note,
           r.excluded or (w.reading is not null and w.bound_mm is null) as excluded,
           case when not r.excluded and w.reading is not null and w.bound_mm is null
                then 'worn through, and neither a limit nor a reading before says how far'
                else r.excluded_why end as excluded_why)
from reading_corrected r left join worn_through_now w on w.reading = r.reading;

create or replace view work_now as
select w.* exclude (key, loaded_by, machine, clearance, date_spread_days, hours_spread),
       coalesce(m.machine, w.machine) as machine,
       coalesce(p.clearance, w.clearance) as clearance,
       coalesce(w.date_spread_days, 0) as date_spread_days,
       coalesce(w.hours_spread, 0) as hours_spread
from work w
left join machine_now m on m.machine_key = w.machine_key
left join position_now p
  on p.machine_key = w.machine_key and p.clearance_key = w.clearance_key;

create or replace view event_now as
select e.* exclude (key, loaded_by, machine, date_spread_days),
       coalesce(m.machine, e.machine) as machine,
       coalesce(e.date_spread_days, 0) as date_spread_days,
       a."by" as accepted_by, a.why as accepted_why
from events e
left join machine_now m on m.machine_key = e.machine_key
left join event_acceptance a on a.event = e.entry and a.undone_at is null;

create or replace view run_log_now as
select l.* exclude (key, loaded_by, machine, meter, date_spread_days, hours_spread),
       coalesce(m.machine, l.machine) as machine,
       -- Blank for a day and hours that are known: an issued plan of before they were kept.
       nullif(date_spread_days, 0) as date_spread_days, nullif(hours_spread, 0) as hours_spread,
       -- That a meter rolled over is kept as an event of that day.
       case when l.meter is null and exists (
           select 1 from events e
           where e.machine_key = l.machine_key and e.date = l.date
             and lower(trim(e.what)) = 'hour meter rolled over'
       ) then 'rolled over' else l.meter end as meter
from run_log l left join machine_now m on m.machine_key = l.machine_key;

create or replace view duty_plan_now as
select d.* exclude (key, loaded_by, replaced_by) replace (coalesce(m.machine, d.machine) as machine)
from duty_plan d left join machine_now m on m.machine_key = d.machine_key
where d.replaced_by is null;

create or replace view concession_now as
select c.* exclude (key, loaded_by, replaced_by, machine, clearance),
       coalesce(m.machine, c.machine) as machine,
       coalesce(p.clearance, c.clearance) as clearance
from concessions c
left join machine_now m on m.machine_key = c.machine_key
left join position_now p
  on p.machine_key = c.machine_key and p.clearance_key = c.clearance_key
where c.replaced_by is null;

create or replace view dimension_now as
select d.* exclude (key, loaded_by, replaced_by, machine, clearance, date_spread_days, hours_spread),
       d.entry as dimension,
       p.machine, p.clearance, p.basis as register_basis,
       coalesce(d.date_spread_days, 0) as date_spread_days,
       coalesce(d.hours_spread, 0) as hours_spread
from dimensions d
join position_now p on p.machine_key = d.machine_key and p.clearance_key = d.clearance_key
where d.replaced_by is null;
