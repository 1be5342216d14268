-- Plans that were issued: the plan as it was told, and what it was worked out from.  Never
-- changed: issuing the same name again is another issue beside the first.
create table issued_plan (
    issue integer primary key,
    name_key varchar not null,
    name varchar not null,
    number integer not null check (number >= 1),
    as_of timestamp not null,
    issued_by varchar,
    issued_at timestamp not null,
    method_version integer not null,
    program_version varchar not null,
    details varchar not null,
    unique (name_key, number)
);

-- The tables of each issue, told or worked out from, by what they hold.
create table issued_table (
    issue integer not null,
    name varchar not null,
    sha256 varchar not null,
    primary key (issue, name)
);

-- What such a table holds, packed; kept once however many issues share it.
create table issued_content (
    sha256 varchar primary key,
    content blob not null
);
