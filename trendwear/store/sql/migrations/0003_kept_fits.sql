-- Fits of families that took a search, so that it is done once.  They follow from the
-- readings and can be thrown away at any time: nothing is lost but time.
create table kept_fit (
    family varchar not null,
    fingerprint varchar not null,
    noise_share double not null,
    made_by varchar not null,
    written bigint not null,
    result varchar not null,
    seal varchar not null,
    primary key (family, fingerprint, noise_share)
);
