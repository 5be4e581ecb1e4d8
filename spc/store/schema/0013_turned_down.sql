-- Proposals that somebody who may approve them turned down under a signed request: they stay where
-- they were received, wait no longer, and are never put in force.
create table turned_down (
    kind            varchar not null,
    name            varchar not null,
    version         integer not null,
    request         varchar not null,
    turned_down_by  varchar not null,
    reason          varchar not null,
    turned_down_at  timestamp not null,
    entry           bigint not null
);
