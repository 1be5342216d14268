-- Views: the store as it is used.  They hold no data.
-- Names are shown as the register spells them.

-- Every machine: those of the register, and those only its clearances name.
create or replace view machine_now as
select * exclude (key, loaded_by, replaced_by) from machines where replaced_by is null
union all by name
select min(place) as place, machine_key, arg_min(machine, place) as machine
from clearances
where replaced_by is null
  and machine_key not in (select machine_key from machines where replaced_by is null)
group by machine_key;

-- Every limit that holds, limits in sequence included.
create or replace view clearance_now as
select c.* exclude (key, loaded_by, replaced_by) replace (m.machine as machine)
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

-- Readings; a blank basis or method is the register's.
create or replace view reading_now as
select r.entry as reading,
       r.* exclude (entry, key, loaded_by, machine, clearance, basis, method,
                    date_spread_days, hours_spread),
       coalesce(p.machine, r.machine) as machine,
       coalesce(p.clearance, r.clearance) as clearance,
       coalesce(r.basis, p.basis) as basis,
       coalesce(r.method, p.method) as method,
       coalesce(r.date_spread_days, 0) as date_spread_days,
       coalesce(r.hours_spread, 0) as hours_spread
from readings r left join position_now p
  on p.machine_key = r.machine_key and p.clearance_key = r.clearance_key;

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
       coalesce(e.date_spread_days, 0) as date_spread_days
from events e left join machine_now m on m.machine_key = e.machine_key;

create or replace view run_log_now as
select l.* exclude (key, loaded_by, machine), coalesce(m.machine, l.machine) as machine
from run_log l left join machine_now m on m.machine_key = l.machine_key;

create or replace view duty_plan_now as
select d.* exclude (key, loaded_by, replaced_by) replace (coalesce(m.machine, d.machine) as machine)
from duty_plan d left join machine_now m on m.machine_key = d.machine_key
where d.replaced_by is null;
