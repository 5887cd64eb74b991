-- Whether the day's work will be done when it was promised.
begin;

-- What forecasts need to know of the garage and is written nowhere else.
create table outlook_setting (
    id      smallint not null default 1 constraint outlook_setting_pk primary key constraint outlook_setting_only_one check (id = 1),
    -- How many cars can be up at once; null while nobody has said, and then
    -- ramps hold nothing up.
    ramps   smallint constraint outlook_setting_ramps_range check (ramps between 1 and 50),
    -- The level that promises are made at, moved by what became of them.
    level   double precision not null default 0.9 constraint outlook_setting_level_range check (level between 0.5 and 0.995),
    version integer not null default 1
);

-- The order that the day's cars are taken in, where somebody has set one.
create table outlook_order (
    day     date not null,
    card_id bigint not null constraint outlook_order_card_fk references card,
    place   smallint not null constraint outlook_order_place_range check (place between 1 and 1000),
    -- It keeps its place when another order is looked for.
    pinned  boolean not null default false,
    constraint outlook_order_pk primary key (day, card_id)
);

-- The outlook of a garage day as it was worked out last. Events up to event_id
-- are in it; fingerprint is of the day that was read.
create table outlook (
    day         date not null constraint outlook_pk primary key,
    event_id    bigint not null,
    computed_at timestamptz not null,
    fingerprint bytea not null,
    took_ms     integer not null,
    body        jsonb not null
);

-- What was learned on a day, and the lines that it was learned from: the model
-- is fitted to them anew wherever it is wanted, and comes out the same.
create table outlook_model (
    id         bigint generated always as identity constraint outlook_model_pk primary key,
    learned_at timestamptz not null,
    day        date not null,
    lines      integer not null,
    body       jsonb not null,
    constraint outlook_model_day_once unique (day)
);

-- An operation's hours that were set by what was learned. Lines written before
-- are reckoned as if they had been estimated by the new hours.
create table outlook_accepted (
    id           bigint generated always as identity constraint outlook_accepted_pk primary key,
    operation_id bigint not null constraint outlook_accepted_operation_fk references operation,
    was_minutes  integer not null constraint outlook_accepted_was_range check (was_minutes between 1 and 12000),
    now_minutes  integer not null constraint outlook_accepted_now_range check (now_minutes between 1 and 12000),
    lines        integer not null,
    by_staff     bigint constraint outlook_accepted_staff_fk references staff,
    at           timestamptz not null
);
create index outlook_accepted_operation_idx on outlook_accepted (operation_id, at);

-- Every forecast of a car that was shown, against the promise that stood then,
-- and what became of it.
create table forecast_made (
    id          bigint generated always as identity constraint forecast_made_pk primary key,
    card_id     bigint not null constraint forecast_made_card_fk references card,
    day         date not null,
    made_at     timestamptz not null,
    model_id    bigint,
    promised_at timestamptz not null,
    -- As shown, and before it was corrected.
    chance      double precision not null constraint forecast_made_chance_range check (chance between 0 and 1),
    raw         double precision not null constraint forecast_made_raw_range check (raw between 0 and 1),
    -- What the hours added up, and the normal approximation, say instead.
    added       double precision not null,
    normal      double precision not null,
    -- Quantiles of the finish, uncorrected, in hours from made_at, evenly
    -- spread from the lowest to the highest; infinity is beyond the days read.
    hours       real[] not null,
    -- The uncorrected levels of the times that were shown as holding 50, 80 and
    -- 90 times in a hundred.
    levels      real[] not null constraint forecast_made_levels_three check (cardinality(levels) = 3),
    finished_at timestamptz,
    -- Where the finish fell among the hours; null until then, or for ever where
    -- the car never was finished.
    place       double precision constraint forecast_made_place_range check (place between 0 and 1),
    kept        boolean,
    settled_at  timestamptz,
    constraint forecast_made_outcome_whole check ((finished_at is null) = (kept is null) and (finished_at is null or settled_at is not null))
);
create index forecast_made_card_idx on forecast_made (card_id, made_at);
create index forecast_made_open_idx on forecast_made (card_id) where settled_at is null;
create index forecast_made_day_idx on forecast_made (day, card_id, made_at) where kept is not null;

commit;
