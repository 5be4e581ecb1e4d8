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

-- Changed figures of a method are a proposal too: the first version is in force as it comes in,
-- every later one from its approval on.  What an earlier version of this program took in is.
alter table method add column proposed_by varchar default '';
alter table method alter column proposed_by set not null;
alter table method alter column proposed_by drop default;

insert into approval
select
    'method',
    concat_ws(' | ', method.method, characteristic),
    method.version,
    coalesce(receipt.received_at, timestamp '1970-01-01')::date,
    'as received',
    '',
    coalesce(receipt.received_by, ''),
    'as its file stated',
    coalesce(receipt.received_at, timestamp '1970-01-01'),
    0
from method
left join receipt using (receipt)
where method.version > 1;
