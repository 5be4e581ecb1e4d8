-- Every row stands under an entry of the audit chain: the one that was made when it was written.
-- The entry seals all the rows under it, and its number orders them, whatever the clock said.  Rows
-- written before this step stand under 0, or under the entry that tells of them; the entry made with
-- this step seals them as they were found.

alter table applied add column entry bigint default 0;
alter table applied alter column entry set not null;
alter table applied alter column entry drop default;

alter table setting add column entry bigint default 0;
alter table setting alter column entry set not null;
alter table setting alter column entry drop default;

alter table material add column entry bigint default 0;
alter table material alter column entry set not null;
alter table material alter column entry drop default;

alter table supplier add column entry bigint default 0;
alter table supplier alter column entry set not null;
alter table supplier alter column entry drop default;

alter table characteristic add column entry bigint default 0;
alter table characteristic alter column entry set not null;
alter table characteristic alter column entry drop default;

alter table method add column entry bigint default 0;
alter table method alter column entry set not null;
alter table method alter column entry drop default;

alter table specification add column entry bigint default 0;
alter table specification alter column entry set not null;
alter table specification alter column entry drop default;

alter table specification_line add column entry bigint default 0;
alter table specification_line alter column entry set not null;
alter table specification_line alter column entry drop default;

alter table source_profile add column entry bigint default 0;
alter table source_profile alter column entry set not null;
alter table source_profile alter column entry drop default;

alter table receipt add column entry bigint default 0;
alter table receipt alter column entry set not null;
alter table receipt alter column entry drop default;

alter table held_row add column entry bigint default 0;
alter table held_row alter column entry set not null;
alter table held_row alter column entry drop default;

alter table held_row_end add column entry bigint default 0;
alter table held_row_end alter column entry set not null;
alter table held_row_end alter column entry drop default;

alter table held_row_mend add column entry bigint default 0;
alter table held_row_mend alter column entry set not null;
alter table held_row_mend alter column entry drop default;

alter table lot add column entry bigint default 0;
alter table lot alter column entry set not null;
alter table lot alter column entry drop default;

alter table result add column entry bigint default 0;
alter table result alter column entry set not null;
alter table result alter column entry drop default;

alter table invalidation add column entry bigint default 0;
alter table invalidation alter column entry set not null;
alter table invalidation alter column entry drop default;

alter table baseline add column entry bigint default 0;
alter table baseline alter column entry set not null;
alter table baseline alter column entry drop default;

alter table investigation add column entry bigint default 0;
alter table investigation alter column entry set not null;
alter table investigation alter column entry drop default;

alter table investigation_end add column entry bigint default 0;
alter table investigation_end alter column entry set not null;
alter table investigation_end alter column entry drop default;

alter table disposition add column entry bigint default 0;
alter table disposition alter column entry set not null;
alter table disposition alter column entry drop default;

alter table attachment add column entry bigint default 0;
alter table attachment alter column entry set not null;
alter table attachment alter column entry drop default;

alter table control add column entry bigint default 0;
alter table control alter column entry set not null;
alter table control alter column entry drop default;

alter table correction add column entry bigint default 0;
alter table correction alter column entry set not null;
alter table correction alter column entry drop default;

alter table stock_move add column entry bigint default 0;
alter table stock_move alter column entry set not null;
alter table stock_move alter column entry drop default;

alter table blend add column entry bigint default 0;
alter table blend alter column entry set not null;
alter table blend alter column entry drop default;

alter table blend_event add column entry bigint default 0;
alter table blend_event alter column entry set not null;
alter table blend_event alter column entry drop default;

alter table blend_parent add column entry bigint default 0;
alter table blend_parent alter column entry set not null;
alter table blend_parent alter column entry drop default;

-- `clock` is what the machine's clock said where it lay before the last entry; the entry then has the
-- last one's time.  `sealed` tells, by table, how many rows stand under the entry, and their digest.
alter table audit add column clock timestamp;
alter table audit add column sealed varchar default '';
alter table audit alter column sealed set not null;
alter table audit alter column sealed drop default;

-- The views again, because the tables under them have a column more.
create or replace view current_result as
select result.*
from result
anti join (select supersedes from result where supersedes is not null) as replaced
       on replaced.supersedes = result.result
anti join invalidation using (result);

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

-- Decisions in the order in which they count: those of files are from before the store and come
-- first, by their own dates; then those signed here, in the order of the audit chain.
create view decision_in_order as
select
    disposition.*,
    row_number() over (
        order by receipt = '', case when receipt <> '' then decided_at end, entry, disposition
    ) as turn
from disposition;
