-- Cases that planners supposed and kept by name.  A case that is replaced or deleted stays in
-- the record, with who ended it and when.
create table other_case (
    entry integer primary key,
    name_key varchar not null,
    name varchar not null,
    changes varchar not null, -- JSON
    "by" varchar not null, kept_at timestamp not null,
    ended varchar check (ended in ('replaced', 'deleted')),
    ended_by varchar, ended_at timestamp
);
