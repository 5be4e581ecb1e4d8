-- What is left of lots, what was planned from them, and what became of it.  No row is ever changed:
-- what happens is a row of its own, numbered in the order in which it happened.

-- `kg` is what moved; of a count it is all that was found, in whole bags and opened.
create table stock_move (
    move       varchar not null,
    step       bigint not null,
    lot        varchar not null,
    kind       varchar not null,
    kg         double not null,
    bags       integer,
    bag_kg     double,
    opened_kg  double,
    blend      varchar not null,
    reason     varchar not null,
    moved_by   varchar not null,
    moved_at   timestamp not null
);

-- A draft as it was saved: what was asked, the recipe with what was predicted of it, and the lot
-- means that it rests on.
create table blend (
    blend       varchar not null,
    name        varchar not null,
    material    varchar not null,
    batch_kg    double not null,
    target      varchar not null,
    recipe      varchar not null,
    evidence    varchar not null,
    note        varchar not null,
    drafted_by  varchar not null,
    drafted_at  timestamp not null
);

-- Approved, issued, made or cancelled; `sheet` comes with the issue, `lot` and what was predicted
-- of the kilograms as weighed with the making.
create table blend_event (
    event          varchar not null,
    step           bigint not null,
    blend          varchar not null,
    what           varchar not null,
    sheet          varchar not null,
    lot            varchar not null,
    predicted      varchar not null,
    signed_by      varchar not null,
    role           varchar not null,
    second_person  varchar not null,
    reason         varchar not null,
    happened_at    timestamp not null
);

-- What was weighed into a lot that was made by blending.
create table blend_parent (
    lot     varchar not null,
    parent  varchar not null,
    kg      double not null,
    blend   varchar not null
);

create view blend_status as
with latest as (
    select blend, what, happened_at
    from blend_event
    qualify row_number() over (partition by blend order by step desc) = 1
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
