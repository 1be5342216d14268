-- Plans that were issued.

-- name: add_issue
-- The running number counts the issues of one name.
insert into issued_plan
select
    (select coalesce(max(issue), 0) + 1 from issued_plan),
    $name_key, $name,
    (select coalesce(max(number), 0) + 1 from issued_plan where name_key = $name_key),
    $as_of, $issued_by, current_timestamp::timestamp,
    $method_version, $program_version, $details
returning issue;

-- name: add_issued_content
insert or ignore into issued_content values ($sha256, $content);

-- name: add_issued_table
insert into issued_table values ($issue, $name, $sha256);

-- name: issued_plans
select issue, name, number, as_of, issued_by, issued_at, method_version, program_version, details
from issued_plan
where $name_key is null or name_key = $name_key
order by name_key, number;

-- name: issued_plan
select issue, name, number, as_of, issued_by, issued_at, method_version, program_version, details
from issued_plan
where issue = $issue;

-- name: issued_tables
select t.name, t.sha256, c.content
from issued_table t left join issued_content c on c.sha256 = t.sha256
where t.issue = $issue
order by t.name;
