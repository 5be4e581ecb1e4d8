-- Samples of known value, measured beside the lots; their results stand in `result` under the
-- control's name where a lot's number stands.
create table control (
    control               varchar not null,
    characteristic        varchar not null,
    assigned              double not null,
    standard_uncertainty  double not null,
    source                varchar not null
);

-- A correction never changes a stored reading; it is made when a lot is judged.
create table correction (
    method              varchar not null,
    characteristic      varchar not null,
    material            varchar not null,
    supplier            varchar not null,
    version             integer not null,
    effective_from      date not null,
    against             varchar not null,
    approved_by         varchar not null,
    reason              varchar not null,
    kind                varchar not null,
    "offset"            double not null,
    slope               double not null,
    offset_variance     double not null,
    slope_variance      double not null,
    covariance          double not null,
    degrees_of_freedom  integer not null,
    residual_sd         double not null,
    lowest              double not null,
    highest             double not null,
    lots                integer not null,
    receipt             varchar not null
);
