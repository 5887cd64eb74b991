-- The garage itself: its settings, its people, and how they sign in.
begin;

create table garage (
    id                       smallint not null default 1 constraint garage_pk primary key constraint garage_only_one check (id = 1),
    name                     text not null constraint garage_name_given check (name <> ''),
    address                  text not null default '',
    phone                    text not null default '',
    email                    text not null default '',
    vat_number               text not null default '',
    zone                     text not null default 'Europe/London',
    currency                 text not null default 'GBP' constraint garage_currency_code check (currency ~ '^[A-Z]{3}$'),
    opens                    time not null default '08:30',
    closes                   time not null default '17:30',
    -- ISO weekdays, Monday is 1.
    work_days                smallint[] not null default '{1,2,3,4,5}',
    -- What an hour of labour is planned to cost the garage: the standard that
    -- the labour variances are measured against.
    standard_cost_rate_minor bigint not null default 1800 constraint garage_cost_rate_range check (standard_cost_rate_minor between 0 and 100000000),
    default_markup_bp        integer not null default 3000 constraint garage_markup_range check (default_markup_bp between 0 and 1000000),
    vat_rounding             text not null default 'document' constraint garage_vat_rounding_known check (vat_rounding in ('document', 'line')),
    version                  integer not null default 1,
    constraint garage_hours_order check (opens < closes)
);

-- A tax rate holds from its day until the next one of the same code.
create table vat_rate (
    code     text not null constraint vat_rate_code_known check (code in ('standard', 'reduced', 'zero', 'outside')),
    from_day date not null,
    -- Hundredths of a percent. Lines outside the scope of VAT carry no rate.
    rate_bp  integer constraint vat_rate_range check (rate_bp between 0 and 10000),
    constraint vat_rate_pk primary key (code, from_day),
    constraint vat_rate_outside_has_none check ((code = 'outside') = (rate_bp is null))
);
insert into vat_rate (code, from_day, rate_bp) values
    ('standard', '2011-01-04', 2000), ('reduced', '1997-09-01', 500), ('zero', '1973-04-01', 0), ('outside', '1973-04-01', null);

create table labour_type (
    id         bigint generated always as identity constraint labour_type_pk primary key,
    name       text not null constraint labour_type_name_given check (name <> ''),
    -- Net price of an hour.
    rate_minor bigint not null constraint labour_type_rate_range check (rate_minor between 0 and 100000000),
    active     boolean not null default true,
    version    integer not null default 1,
    constraint labour_type_name_once unique (name)
);

create table staff (
    id              bigint generated always as identity constraint staff_pk primary key,
    name            text not null constraint staff_name_given check (name <> ''),
    role            text not null constraint staff_role_known check (role in ('owner', 'desk', 'technician')),
    -- What they type to sign in with a password; absent for those who only use the tablet.
    sign_in         text constraint staff_sign_in_form check (sign_in = lower(sign_in) and sign_in <> ''),
    password_hash   text,
    pin_hash        text,
    -- What an hour of theirs costs the garage.
    cost_rate_minor bigint not null default 0 constraint staff_cost_rate_range check (cost_rate_minor between 0 and 100000000),
    active          boolean not null default true,
    created_at      timestamptz not null,
    version         integer not null default 1,
    constraint staff_name_once unique (name),
    constraint staff_sign_in_once unique (sign_in)
);

-- When somebody is planned to work, by ISO weekday.
create table shift_pattern (
    staff_id      bigint not null constraint shift_pattern_staff_fk references staff,
    weekday       smallint not null constraint shift_pattern_weekday_range check (weekday between 1 and 7),
    starts        time not null,
    ends          time not null,
    break_minutes integer not null default 0 constraint shift_pattern_break_range check (break_minutes between 0 and 480),
    constraint shift_pattern_pk primary key (staff_id, weekday),
    constraint shift_pattern_order check (starts < ends)
);

create table absence (
    staff_id bigint not null constraint absence_staff_fk references staff,
    day      date not null,
    reason   text not null default '',
    constraint absence_pk primary key (staff_id, day)
);

-- When somebody really was in. Open while they are.
create table attendance (
    id            bigint generated always as identity constraint attendance_pk primary key,
    staff_id      bigint not null constraint attendance_staff_fk references staff,
    during        tstzrange not null constraint attendance_not_empty check (not isempty(during) and not lower_inf(during)),
    break_minutes integer not null default 0 constraint attendance_break_range check (break_minutes between 0 and 480),
    -- Set when the end was put in by somebody afterwards.
    corrected     boolean not null default false,
    constraint attendance_one_at_a_time exclude using gist (staff_id with =, during with &&)
);

create table device (
    id           bigint generated always as identity constraint device_pk primary key,
    name         text not null constraint device_name_given check (name <> ''),
    token_sha256 bytea not null,
    enrolled_by  bigint not null constraint device_staff_fk references staff,
    enrolled_at  timestamptz not null,
    last_seen_at timestamptz,
    revoked_at   timestamptz,
    constraint device_token_once unique (token_sha256)
);

create table session (
    token_sha256 bytea not null constraint session_pk primary key,
    staff_id     bigint not null constraint session_staff_fk references staff,
    device_id    bigint constraint session_device_fk references device,
    created_at   timestamptz not null,
    last_seen_at timestamptz not null,
    expires_at   timestamptz not null,
    user_agent   text not null default ''
);
create index session_staff_idx on session (staff_id);
create index session_expires_idx on session (expires_at);

create table api_token (
    id           bigint generated always as identity constraint api_token_pk primary key,
    name         text not null constraint api_token_name_given check (name <> ''),
    staff_id     bigint not null constraint api_token_staff_fk references staff,
    token_sha256 bytea not null,
    created_at   timestamptz not null,
    expires_at   timestamptz,
    last_used_at timestamptz,
    revoked_at   timestamptz,
    constraint api_token_once unique (token_sha256)
);

-- Failed sign-ins, by the account tried and the address they came from.
create table sign_in_failure (
    subject text not null,
    address text not null,
    at      timestamptz not null
);
create index sign_in_failure_idx on sign_in_failure (subject, at);

create table operation (
    id                bigint generated always as identity constraint operation_pk primary key,
    name              text not null constraint operation_name_given check (name <> ''),
    labour_type_id    bigint not null constraint operation_labour_type_fk references labour_type,
    low_minutes       integer not null,
    likely_minutes    integer not null,
    high_minutes      integer not null,
    fixed_price_minor bigint constraint operation_fixed_price_range check (fixed_price_minor between 0 and 100000000),
    vat_code          text not null default 'standard' constraint operation_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'outside')),
    cautions          text[] not null default '{}',
    -- A second person must check the work.
    safety            boolean not null default false,
    -- A wheel comes off: a torque check must be on record.
    wheels_off        boolean not null default false,
    -- Inspecting or diagnosing: the kind of work that finds more work.
    inspects          boolean not null default false,
    active            boolean not null default true,
    version           integer not null default 1,
    constraint operation_name_once unique (name),
    constraint operation_hours_order check (0 <= low_minutes and low_minutes <= likely_minutes and likely_minutes <= high_minutes and high_minutes <= 12000)
);
create index operation_name_trgm on operation using gin (name gin_trgm_ops);

create table supplier (
    id      bigint generated always as identity constraint supplier_pk primary key,
    name    text not null constraint supplier_name_given check (name <> ''),
    phone   text not null default '',
    email   text not null default '',
    active  boolean not null default true,
    version integer not null default 1,
    constraint supplier_name_once unique (name)
);

commit;
