-- Cars, the people who keep them, and what is known of each car.
begin;

create table customer (
    id           bigint generated always as identity constraint customer_pk primary key,
    name         text not null constraint customer_name_given check (name <> ''),
    -- As it was given, and as digits that any spelling of it leads to.
    phone        text not null default '',
    phone_digits text not null default '',
    email        text not null default '',
    address      text not null default '',
    note         text not null default '',
    created_at   timestamptz not null,
    version      integer not null default 1
);
create index customer_name_trgm on customer using gin (lower(name) gin_trgm_ops);
create index customer_phone_trgm on customer using gin (phone_digits gin_trgm_ops);

create table vehicle (
    id         bigint generated always as identity constraint vehicle_pk primary key,
    -- Registration mark: compact, as it is shown, and with the characters that
    -- people mix up made one, for finding.
    mark       text,
    mark_shown text not null default '',
    mark_key   text not null default '',
    vin        text,
    make       text not null constraint vehicle_make_given check (make <> ''),
    model      text not null default '',
    colour     text not null default '',
    created_at timestamptz not null,
    version    integer not null default 1,
    constraint vehicle_mark_once unique (mark),
    constraint vehicle_vin_once unique (vin),
    constraint vehicle_vin_form check (vin ~ '^[A-HJ-NPR-Z0-9]{17}$'),
    constraint vehicle_known_by_something check (mark is not null or vin is not null)
);
create index vehicle_mark_key_trgm on vehicle using gin (mark_key gin_trgm_ops);
create index vehicle_vin_trgm on vehicle using gin (vin gin_trgm_ops);

-- Who keeps a car, over time; one keeper a day.
create table keeper (
    vehicle_id  bigint not null constraint keeper_vehicle_fk references vehicle,
    customer_id bigint not null constraint keeper_customer_fk references customer,
    kept        daterange not null constraint keeper_not_empty check (not isempty(kept)),
    constraint keeper_pk primary key (vehicle_id, kept),
    constraint keeper_one_at_a_time exclude using gist (vehicle_id with =, kept with &&)
);
create index keeper_customer_idx on keeper (customer_id);

-- Facts stay side by side when sources differ; the service ranks them.
create table vehicle_fact (
    id         bigint generated always as identity constraint vehicle_fact_pk primary key,
    vehicle_id bigint not null constraint vehicle_fact_vehicle_fk references vehicle,
    key        text not null constraint vehicle_fact_key_given check (key <> ''),
    value      text not null constraint vehicle_fact_value_given check (value <> ''),
    source     text not null constraint vehicle_fact_source_known check (source in ('plate', 'logbook', 'car', 'supplier', 'assumed')),
    noted_at   timestamptz not null,
    noted_by   bigint constraint vehicle_fact_staff_fk references staff,
    constraint vehicle_fact_one_per_source unique (vehicle_id, key, source)
);

commit;
