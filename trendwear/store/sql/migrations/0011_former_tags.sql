-- Tags that a machine bore before, and the last day on which one meant that machine.
alter table names add column former_tag boolean;
alter table names add column "until" timestamp;
