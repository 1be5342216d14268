-- Cases that planners supposed and kept by name.

-- name: kept_cases
select name, changes, "by", kept_at from other_case where ended is null order by name_key;

-- name: kept_case
select name, changes, "by", kept_at from other_case where ended is null and name_key = $name_key;

-- name: former_cases
-- What was kept under a name before, the newest first.
select name, changes, "by", kept_at, ended, ended_by, ended_at
from other_case
where ended is not null and name_key = $name_key
order by entry desc;

-- name: keep_case
insert into other_case
select coalesce(max(entry), 0) + 1, $name_key, $name, $changes, $by,
    current_timestamp::timestamp, null, null, null
from other_case;

-- name: end_case
update other_case
set ended = $ended, ended_by = $by,
    ended_at = current_timestamp::timestamp
where ended is null and name_key = $name_key;
