-- Fits of families, kept so that only what changed is fitted again.

-- name: kept_fits
select family, fingerprint, noise_share, result, seal from kept_fit where made_by = $made_by;

-- name: keep_fits
-- One of the same family, readings and noise takes the place of the one before.
insert or replace into kept_fit
select
    family, fingerprint, noise_share, $made_by,
    (select coalesce(max(written), 0) + 1 from kept_fit),
    result, seal
from fresh_fits;

-- name: drop_old_fits
-- The newest of each family stay; what another version made is of no use.
delete from kept_fit
where made_by <> $made_by or (family, fingerprint, noise_share) in (
    select (family, fingerprint, noise_share)
    from kept_fit
    where made_by = $made_by
    qualify row_number() over (
        partition by family order by written desc, fingerprint, noise_share
    ) > $most
);
