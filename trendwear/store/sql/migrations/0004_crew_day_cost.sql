-- What one crew day of a machine's opening costs.
alter table machines add column crew_day_cost double;
