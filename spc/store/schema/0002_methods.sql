-- Samples of known value, measured beside the lots; their results stand in `result` under the
-- control's name where a lot's number stands.
create table control (
    control               varchar not null,
    characteristic        varchar not null,
    assigned              double not null,
    standard_uncertainty  double not null,
    source                varchar not null
);
