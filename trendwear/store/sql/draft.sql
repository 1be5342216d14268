-- What a proposed register is made beside: the positions that there are, and their readings.

-- name: register_for_draft
select machine, clearance, arg_max(kind, entry) as kind from clearance_now group by all;

-- name: machines_for_draft
select machine from machines where replaced_by is null;

-- name: readings_for_draft
select machine, clearance, date, run_hours, state, opening, value_mm as value,
       written as value_written, unit
from reading_now;
