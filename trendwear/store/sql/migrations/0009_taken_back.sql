-- Loads that were taken back: who, why and when, and who put them in again.
create table take_back (
    entry integer primary key,
    load integer not null,
    "by" varchar not null, why varchar not null, made_at timestamp not null,
    undone_by varchar, undone_why varchar, undone_at timestamp
);

-- Their rows, while they do not count.  A register row stays in its table, ended by its own
-- load; a row of what was seen and done stands here as it was kept (JSON).  `filled:readings`
-- and the like are cells that the load filled in rows of other loads.
create table aside (
    take_back integer not null,
    kept_in varchar not null, entry integer not null, content varchar,
    file varchar, sheet varchar, row integer, cell varchar, sha256 varchar
);

-- Rows that waited until a load brought their position: they wait again when it is taken back.
create table waited (
    entry integer not null, load integer not null,
    kept_in varchar not null, content varchar not null,
    machine varchar, clearance varchar, lacks varchar not null,
    file varchar, sheet varchar, row integer, cell varchar, sha256 varchar,
    ended_by integer not null, reopened_by integer
);

-- Which stored column was filled; `column` is its name on the sheet.
alter table filled add column kept_column varchar;

-- What a rule of thumb needs, and whether a person stands behind the limit.  A proposed limit
-- counts as none.
alter table clearances add column diameter double;
alter table clearances add column diameter_unit varchar;
alter table clearances add column limit_status varchar;
update clearances set limit_status = 'accepted' where limit_mm is not null;
