-- Written for two homes: a file, and later a lake whose catalogue has no keys, sequences, enums or
-- foreign keys. Ids are made in Python; uniqueness is checked inside the locked write.
-- All timestamps are UTC without zone.

create table applied (
    token       varchar not null,
    applied_at  timestamp not null
);

create table setting (
    name   varchar not null,
    value  varchar not null
);

create table material (
    material            varchar not null,
    form                varchar not null,
    within_lot_cv       double,
    hold_on             varchar not null,
    due_days            integer,
    valid_days          integer,
    plausible_moisture  varchar not null
);

create table supplier (
    supplier  varchar not null,
    country   varchar not null
);

create table characteristic (
    characteristic  varchar not null,
    unit            varchar not null,
    scale           varchar not null,
    kind            varchar not null
);

create table method (
    method                varchar not null,
    characteristic        varchar not null,
    version               integer not null,
    standing              varchar not null,
    screening             boolean not null,
    uncertainty_kind      varchar not null,
    standard_uncertainty  double not null,
    repeatability         double not null,
    bias                  double not null,
    reading_unit          varchar not null,
    quantification_limit  double,
    range_upper           double,
    dilution_lowest       double,
    dilution_highest      double,
    factors               varchar not null,
    receipt               varchar not null
);

create table specification (
    material        varchar not null,
    version         integer not null,
    effective_from  date not null,
    approved_by     varchar not null,
    reason          varchar not null,
    receipt         varchar not null
);

create table specification_line (
    material               varchar not null,
    version                integer not null,
    position               integer not null,
    characteristic         varchar not null,
    requirement            varchar not null,
    lower                  double,
    upper                  double,
    target                 double,
    basis                  varchar not null,
    consumer_risk          double not null,
    producer_risk          double not null,
    safety                 boolean not null,
    reference_method_only  boolean not null,
    source                 varchar not null,
    rule                   varchar not null,
    plan_n                 integer,
    plan_k                 double,
    plan_c                 integer,
    each_sample            boolean not null,
    jurisdiction           varchar not null
);

create table source_profile (
    profile  varchar not null,
    version  integer not null,
    text     varchar not null,
    receipt  varchar not null
);

create table receipt (
    receipt      varchar not null,
    sha256       varchar not null,
    name         varchar not null,
    bytes        blob not null,
    received_at  timestamp not null,
    received_by  varchar not null,
    kind         varchar not null,
    profile      varchar not null,
    version      integer not null,
    rows         bigint not null,
    stored       bigint not null,
    held         bigint not null,
    known        bigint not null,
    results      bigint not null
);

create table held_row (
    receipt     varchar not null,
    source_row  bigint not null,
    lot         varchar not null,
    code        varchar not null,
    reason      varchar not null,
    remedy      varchar not null,
    original    varchar not null
);

-- What became of a held row: dismissed by a person, or taken in when the file was checked again.
create table held_row_end (
    receipt     varchar not null,
    source_row  bigint not null,
    how         varchar not null,
    ended_by    varchar not null,
    reason      varchar not null,
    ended_at    timestamp not null
);

create table lot (
    lot           varchar not null,
    material      varchar not null,
    supplier      varchar not null,
    supplier_lot  varchar not null,
    received_at   timestamp not null,
    harvest_year  integer,
    packages      integer,
    package_kg    double,
    price_per_kg  double,
    currency      varchar not null,
    receipt       varchar not null,
    source_row    bigint not null
);

-- Append-only: a correction is a new row that names the one it supersedes.
create table result (
    result             varchar not null,
    receipt            varchar not null,
    source_row         bigint not null,
    lot                varchar not null,
    characteristic     varchar not null,
    method             varchar not null,
    method_version     integer not null,
    sample             varchar not null,
    replicate          varchar not null,
    measured_at        timestamp,
    operator           varchar not null,
    instrument         varchar not null,
    sensor_batch       varchar not null,
    reading_text       varchar not null,
    qualifier          varchar not null,
    reading            double,
    reading_unit       varchar not null,
    parts              varchar not null,
    extract_volume_mL  double,
    extract_mass_g     double,
    cell_dilution      double,
    factors            varchar not null,
    basis              varchar not null,
    value_low          double not null,
    value_high         double not null,
    unit               varchar not null,
    identity           varchar not null,
    supersedes         varchar,
    superseding_reason varchar not null
);

-- A result that a laboratory error made void stays, with its cause and two persons.
create table invalidation (
    result          varchar not null,
    cause           varchar not null,
    invalidated_by  varchar not null,
    second_person   varchar not null,
    invalidated_at  timestamp not null
);

create view current_result as
select result.*
from result
anti join (select supersedes from result where supersedes is not null) as replaced
       on replaced.supersedes = result.result
anti join invalidation using (result);

create table baseline (
    baseline        varchar not null,
    material        varchar not null,
    supplier        varchar not null,
    characteristic  varchar not null,
    method          varchar not null,
    basis           varchar not null,
    version         integer not null,
    lots            varchar not null,
    left_out        varchar not null,
    applies_from    varchar not null,
    restarts        boolean not null,
    kind            varchar not null,
    rules           varchar not null,
    frozen_by       varchar not null,
    reason          varchar not null,
    frozen_at       timestamp not null
);

-- What was found out about a signal; closed by a row of its own, never changed.
create table investigation (
    investigation   varchar not null,
    material        varchar not null,
    supplier        varchar not null,
    characteristic  varchar not null,
    method          varchar not null,
    basis           varchar not null,
    lot             varchar not null,
    signals         varchar not null,
    cause           varchar not null,
    action          varchar not null,
    opened_by       varchar not null,
    opened_at       timestamp not null
);

create table investigation_end (
    investigation  varchar not null,
    conclusion     varchar not null,
    closed_by      varchar not null,
    closed_at      timestamp not null
);

create table disposition (
    disposition    varchar not null,
    lot            varchar not null,
    decision       varchar not null,
    decided_by     varchar not null,
    role           varchar not null,
    reason         varchar not null,
    second_person  varchar not null,
    scope          varchar not null,
    expires_on     varchar not null,
    decided_at     timestamp not null,
    evidence       varchar not null,
    receipt        varchar not null
);

create table attachment (
    attachment   varchar not null,
    lot          varchar not null,
    name         varchar not null,
    note         varchar not null,
    sha256       varchar not null,
    bytes        blob not null,
    attached_by  varchar not null,
    attached_at  timestamp not null
);

create table audit (
    sequence  bigint not null,
    entered_at timestamp not null,
    actor     varchar not null,
    action    varchar not null,
    subject   varchar not null,
    detail    varchar not null,
    previous  varchar not null,
    hash      varchar not null
);
