-- Who signed a decision: the ids of the two persons, how the first was known, and the request that
-- they signed; what it supersedes, where it corrects another; and the version of the specification
-- that it was signed under.  Decisions from before this step, and those of files, have none of it.

alter table disposition add column person varchar default '';
alter table disposition alter column person set not null;
alter table disposition alter column person drop default;

alter table disposition add column second varchar default '';
alter table disposition alter column second set not null;
alter table disposition alter column second drop default;

alter table disposition add column way varchar default '';
alter table disposition alter column way set not null;
alter table disposition alter column way drop default;

alter table disposition add column request varchar default '';
alter table disposition alter column request set not null;
alter table disposition alter column request drop default;

alter table disposition add column corrects varchar default '';
alter table disposition alter column corrects set not null;
alter table disposition alter column corrects drop default;

-- 0 where it is not known; `specification_approved_at` is when the approval came into the store.
alter table disposition add column specification_version integer default 0;
alter table disposition alter column specification_version set not null;
alter table disposition alter column specification_version drop default;

alter table disposition add column specification_approved_by varchar default '';
alter table disposition alter column specification_approved_by set not null;
alter table disposition alter column specification_approved_by drop default;

alter table disposition add column specification_approved_at timestamp;

-- The view again, because the table under it has columns more.
create or replace view decision_in_order as
select
    disposition.*,
    row_number() over (
        order by receipt = '', case when receipt <> '' then decided_at end, entry, disposition
    ) as turn
from disposition;
