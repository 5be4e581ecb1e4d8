-- What a characteristic can be at all, in its unit; null where what its unit measures says enough.
alter table characteristic add column lowest double;
alter table characteristic add column highest double;

-- A held row that a person found to be right: it is not held again for the same doubt.
create table confirmation (
    receipt       varchar not null,
    source_row    bigint not null,
    code          varchar not null,
    confirmed_by  varchar not null,
    reason        varchar not null,
    confirmed_at  timestamp not null,
    entry         bigint not null
);

-- What a held row says against the safety of a lot.
create table alarm (
    receipt         varchar not null,
    source_row      bigint not null,
    lot             varchar not null,
    characteristic  varchar not null,
    sentence        varchar not null,
    entry           bigint not null
);
