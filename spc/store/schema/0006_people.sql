-- Who works with the store, what they may do, and what they signed.  What a person or an
-- administrator did is a row of its own, numbered in its order, and stands in the audit chain too;
-- only `account_secret`, `session` and `sign_in_count` do not, and the last two change.

-- Everything known of a person as it was after the event; the last one counts.
create table person_event (
    event        varchar not null,
    step         bigint not null,
    person       varchar not null,
    what         varchar not null,
    name         varchar not null,
    sign_in      varchar not null,
    roles        varchar not null,
    email        varchar not null,
    provider     varchar not null,
    reason       varchar not null,
    signed_by    varchar not null,
    happened_at  timestamp not null,
    entry bigint not null
);

-- `invitation` is the SHA-256 of the code that was handed out once.
create table invitation (
    invitation  varchar not null,
    step        bigint not null,
    person      varchar not null,
    invited_by  varchar not null,
    invited_at  timestamp not null,
    until       timestamp not null,
    entry bigint not null
);

-- How a person signs in: by a secret, or at the provider.  Of several the last one counts.
create table account (
    account        varchar not null,
    step           bigint not null,
    person         varchar not null,
    way            varchar not null,
    invitation     varchar not null,
    secret_sha256  varchar not null,
    opened_at      timestamp not null,
    entry bigint not null
);

-- The hash itself stays out of the chain, which many may read; its digest above seals it.
create table account_secret (
    account  varchar not null,
    encoded  varchar not null,
    entry bigint not null
);

-- `session` is the SHA-256 of the key in the browser.
create table session (
    session    varchar not null,
    person     varchar not null,
    way        varchar not null,
    opened_at  timestamp not null,
    seen_at    timestamp not null,
    signed_at  timestamp,
    ended_at   timestamp
);

create table sign_in_count (
    person        varchar not null,
    wrong         integer not null,
    locked_until  timestamp
);

-- `token` is the SHA-256 of what the sender was given.
create table token_event (
    event        varchar not null,
    step         bigint not null,
    token        varchar not null,
    what         varchar not null,
    sender       varchar not null,
    scope        varchar not null,
    until        timestamp not null,
    reason       varchar not null,
    signed_by    varchar not null,
    happened_at  timestamp not null,
    entry bigint not null
);

create table house_rule (
    rule       varchar not null,
    step       bigint not null,
    name       varchar not null,
    value      varchar not null,
    reason     varchar not null,
    signed_by  varchar not null,
    signed_at  timestamp not null,
    entry bigint not null
);

-- What is to be signed, and on what evidence; `sha256` is that of the text that is signed.
create table signing_request (
    request     varchar not null,
    step        bigint not null,
    deed        varchar not null,
    subject     varchar not null,
    meaning     varchar not null,
    reason      varchar not null,
    about       varchar not null,
    rests_on    varchar not null,
    sha256      varchar not null,
    needs       integer not null,
    asks        varchar not null,
    asked_by    varchar not null,
    asked_name  varchar not null,
    asked_at    timestamp not null,
    entry bigint not null
);

-- Declined by a person, or void because something newer overtook it.
create table request_event (
    event        varchar not null,
    step         bigint not null,
    request      varchar not null,
    what         varchar not null,
    reason       varchar not null,
    person       varchar not null,
    name         varchar not null,
    happened_at  timestamp not null,
    entry bigint not null
);

-- A person with name and role as they were then, and how it was proven that it was them.
create table signature (
    signature  varchar not null,
    step       bigint not null,
    request    varchar not null,
    place      integer not null,
    person     varchar not null,
    provider   varchar not null,
    name       varchar not null,
    role       varchar not null,
    meaning    varchar not null,
    reason     varchar not null,
    sha256     varchar not null,
    way        varchar not null,
    proven_at  timestamp not null,
    material   varchar not null,
    one_person boolean not null,
    signed_at  timestamp not null,
    entry bigint not null
);
