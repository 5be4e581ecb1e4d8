-- What a received file says of a specification, or of a correction of a method, is a proposal until
-- it is approved: it judges no lot before a row here names it, from the day that the row gives.
-- `name` is the material; of a correction its method, characteristic, material and supplier.
-- How: 'signed' under a request; 'history', taken in with the signed first day of the record; or
-- 'as received', in force in a store of an earlier version that asked for no approval.
create table approval (
    kind            varchar not null,
    name            varchar not null,
    version         integer not null,
    effective_from  date not null,
    how             varchar not null,
    request         varchar not null,
    approved_by     varchar not null,
    reason          varchar not null,
    approved_at     timestamp not null,
    entry           bigint not null
);

-- The person who brought it, by id: nobody approves what they proposed without a second person.
alter table specification add column proposed_by varchar default '';
alter table specification alter column proposed_by set not null;
alter table specification alter column proposed_by drop default;

alter table correction add column proposed_by varchar default '';
alter table correction alter column proposed_by set not null;
alter table correction alter column proposed_by drop default;

insert into approval
select
    'specification',
    specification.material,
    specification.version,
    specification.effective_from,
    'as received',
    '',
    specification.approved_by,
    specification.reason,
    coalesce(receipt.received_at, specification.effective_from::timestamp),
    0
from specification
left join receipt using (receipt);

insert into approval
select
    'correction',
    concat_ws(' | ', correction.method, characteristic, material, supplier),
    correction.version,
    effective_from,
    'as received',
    '',
    approved_by,
    reason,
    coalesce(receipt.received_at, effective_from::timestamp),
    0
from correction
left join receipt using (receipt);

-- Who drafted a blend, by id: nobody issues their own without a second person.
alter table blend add column drafted_person varchar default '';
alter table blend alter column drafted_person set not null;
alter table blend alter column drafted_person drop default;

create or replace view blend_status as
with latest as (
    select blend, what, happened_at
    from blend_event
    qualify row_number() over (partition by blend order by entry desc, step desc) = 1
)
select
    blend.*,
    coalesce(latest.what, 'draft')                 as status,
    coalesce(latest.happened_at, blend.drafted_at) as since,
    coalesce(issued.sheet, '')                     as sheet,
    coalesce(made.lot, '')                         as lot,
    coalesce(made.predicted, '')                   as predicted,
    made.happened_at                               as made_at
from blend
left join latest using (blend)
left join blend_event as issued on issued.blend = blend.blend and issued.what = 'issued'
left join blend_event as made   on made.blend   = blend.blend and made.what   = 'made';
