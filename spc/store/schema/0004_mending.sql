-- What a person put in the place of a cell of a held row; the file's bytes and the held row keep the
-- original.  Of several for one cell the latest counts.
create table held_row_mend (
    mend        varchar not null,
    receipt     varchar not null,
    source_row  bigint not null,
    header      varchar not null,
    text        varchar not null,
    mended_by   varchar not null,
    reason      varchar not null,
    mended_at   timestamp not null
);
