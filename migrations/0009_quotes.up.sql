-- Quotes: each version frozen as it was issued, how it went out, and what was
-- said to it.
begin;

-- One quote a card; its number is the garage's own.
create table quote (
    number  bigint generated always as identity (start with 2001) constraint quote_pk primary key,
    card_id bigint not null constraint quote_card_fk references card,
    made_at timestamptz not null,
    constraint quote_card_once unique (card_id)
);

create table quote_version (
    id               bigint generated always as identity constraint quote_version_pk primary key,
    quote_number     bigint not null constraint quote_version_quote_fk references quote,
    card_id          bigint not null constraint quote_version_card_fk references card,
    version_no       integer not null constraint quote_version_no_range check (version_no between 1 and 999),
    kind             text not null constraint quote_version_kind_known check (kind in ('estimate', 'fixed quotation')),
    issued_at        timestamptz not null,
    issued_by        bigint constraint quote_version_staff_fk references staff,
    -- The last moment at which it can be agreed to.
    valid_until      timestamptz not null,
    -- Words of the garage to the customer.
    note             text not null default '',
    -- The garage as it was then.
    garage_name      text not null,
    garage_address   text not null,
    garage_phone     text not null,
    garage_email     text not null,
    vat_number       text not null,
    tax_name         text not null,
    currency         text not null constraint quote_version_currency_code check (currency ~ '^[A-Z]{3}$'),
    zone             text not null,
    -- Whom it is for, and the car.
    customer_id      bigint not null constraint quote_version_customer_fk references customer,
    customer_name    text not null,
    customer_address text not null,
    customer_phone   text not null,
    customer_email   text not null,
    vehicle_id       bigint not null constraint quote_version_vehicle_fk references vehicle,
    mark             text not null,
    vin              text not null,
    car              text not null,
    mileage          integer,
    mileage_unit     text not null,
    customer_words   text not null,
    -- What it comes to. Lines less allowances plus charges are net; net and VAT
    -- are gross.
    rounding         text not null,
    line_net_minor   bigint not null,
    allowances_minor bigint not null constraint quote_version_allowances_range check (allowances_minor >= 0),
    charges_minor    bigint not null constraint quote_version_charges_range check (charges_minor >= 0),
    net_minor        bigint not null,
    vat_minor        bigint not null,
    gross_minor      bigint not null,
    constraint quote_version_once unique (card_id, version_no),
    constraint quote_version_of_card unique (card_id, id),
    constraint quote_version_valid_order check (valid_until > issued_at),
    constraint quote_version_net_adds check (net_minor = line_net_minor - allowances_minor + charges_minor),
    constraint quote_version_gross_adds check (gross_minor = net_minor + vat_minor)
);
create index quote_version_issued_idx on quote_version (issued_at);

-- What is asked about as one: a line of the card with its parts. Line 0 of the
-- list is what belongs to the card as a whole; nobody is asked about it apart.
create table quote_job (
    version_id  bigint not null constraint quote_job_version_fk references quote_version,
    position    integer not null constraint quote_job_position_range check (position between 1 and 1000),
    line_id     bigint constraint quote_job_line_fk references line,
    title       text not null constraint quote_job_title_given check (title <> ''),
    must_do     boolean not null,
    -- What happens if it waits, in the garage's words.
    if_waits    text not null default '',
    minutes     integer not null,
    net_minor   bigint not null,
    -- With the VAT that falls on it. Those of all jobs come to the version's.
    gross_minor bigint not null,
    constraint quote_job_pk primary key (version_id, position),
    constraint quote_job_line_once unique (version_id, line_id)
);
create index quote_job_line_idx on quote_job (line_id) where line_id is not null;

create table quote_line (
    version_id    bigint not null,
    position      integer not null constraint quote_line_position_range check (position between 1 and 10000),
    job_position  integer not null,
    -- As it is called on the card's price sheet: line:12, part:34, sundries.
    key           text not null,
    kind          text not null constraint quote_line_kind_known check (kind in ('labour', 'part', 'fee', 'exchange surcharge', 'sundries')),
    part_id       bigint constraint quote_line_part_fk references part,
    what          text not null,
    number        text not null default '',
    -- Thousandths of the unit, at price for per thousandths.
    qty_milli     bigint not null,
    unit          text not null,
    price_minor   bigint not null,
    per_milli     bigint not null constraint quote_line_per_range check (per_milli > 0),
    customers_own boolean not null,
    list_minor    bigint not null,
    net_minor     bigint not null,
    vat_code      text not null constraint quote_line_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'outside', 'exempt')),
    vat_bp        bigint not null,
    -- The VAT inside a price that was set with it; null where none was.
    inside_minor  bigint,
    constraint quote_line_pk primary key (version_id, position),
    constraint quote_line_key_once unique (version_id, key),
    constraint quote_line_job_fk foreign key (version_id, job_position) references quote_job (version_id, position)
);

-- A discount or a surcharge: on a line, or on the whole at one VAT rate.
create table quote_adjustment (
    version_id    bigint not null constraint quote_adjustment_version_fk references quote_version,
    position      integer not null,
    line_position integer,
    what          text not null,
    up            boolean not null,
    percent_bp    bigint not null,
    base_minor    bigint not null,
    amount_minor  bigint not null,
    vat_code      text,
    vat_bp        bigint,
    constraint quote_adjustment_pk primary key (version_id, position),
    constraint quote_adjustment_line_fk foreign key (version_id, line_position) references quote_line (version_id, position),
    constraint quote_adjustment_one_place check ((line_position is null) = (vat_code is not null) and (vat_code is null) = (vat_bp is null))
);

create table quote_vat (
    version_id bigint not null constraint quote_vat_version_fk references quote_version,
    position   integer not null,
    vat_code   text not null,
    vat_bp     bigint not null,
    net_minor  bigint not null,
    vat_minor  bigint not null,
    constraint quote_vat_pk primary key (version_id, position),
    constraint quote_vat_rate_once unique (version_id, vat_code, vat_bp)
);

create table quote_finding (
    version_id   bigint not null constraint quote_finding_version_fk references quote_version,
    position     integer not null,
    finding_id   bigint not null constraint quote_finding_finding_fk references finding,
    -- The job that it proposes, and the line of the card it was found on.
    job_position integer,
    line_id      bigint constraint quote_finding_line_fk references line,
    severity     text not null constraint quote_finding_severity_known check (severity in ('dangerous', 'major', 'minor', 'advisory')),
    what         text not null,
    measured     text not null,
    limit_value  text not null,
    constraint quote_finding_pk primary key (version_id, position),
    constraint quote_finding_job_fk foreign key (version_id, job_position) references quote_job (version_id, position)
);

create table quote_photo (
    version_id bigint not null constraint quote_photo_version_fk references quote_version,
    photo_id   bigint not null constraint quote_photo_photo_fk references photo,
    line_id    bigint not null constraint quote_photo_line_fk references line,
    caption    text not null,
    constraint quote_photo_pk primary key (version_id, photo_id)
);

-- Each time a version went out. A link and a letter are named where there is one.
create table quote_sending (
    id         bigint generated always as identity constraint quote_sending_pk primary key,
    version_id bigint not null constraint quote_sending_version_fk references quote_version,
    way        text not null constraint quote_sending_way_known check (way in ('link', 'e-mail', 'paper')),
    to_name    text not null constraint quote_sending_name_given check (to_name <> ''),
    to_address text not null default '',
    link_id    bigint,
    letter_id  bigint,
    at         timestamptz not null,
    by_staff   bigint constraint quote_sending_staff_fk references staff,
    constraint quote_sending_address_given check (way <> 'e-mail' or to_address <> '')
);
create index quote_sending_version_idx on quote_sending (version_id, id);

create table quote_withdrawal (
    version_id bigint not null constraint quote_withdrawal_pk primary key constraint quote_withdrawal_version_fk references quote_version,
    reason     text not null constraint quote_withdrawal_reason_given check (reason <> ''),
    at         timestamptz not null,
    by_staff   bigint constraint quote_withdrawal_staff_fk references staff
);

-- One time that somebody answered a version, to one or more of its jobs.
create table quote_answer (
    id           bigint generated always as identity constraint quote_answer_pk primary key,
    version_id   bigint not null constraint quote_answer_version_fk references quote_version,
    said_by      text not null constraint quote_answer_said_by_given check (said_by <> ''),
    how          text not null constraint quote_answer_how_known check (how in ('in person', 'by phone', 'in writing', 'by link')),
    -- When it was said; at is when it was noted.
    said_at      timestamptz not null,
    -- How far a yes by telephone reaches, with VAT.
    up_to_minor  bigint constraint quote_answer_up_to_range check (up_to_minor between 0 and 100000000000),
    -- Drawn by the customer: strokes, as package signature writes them.
    signature    text not null default '' constraint quote_answer_signature_size check (length(signature) <= 262144),
    note         text not null default '',
    device       text not null default '',
    taken_by     bigint constraint quote_answer_staff_fk references staff,
    at           timestamptz not null
);
create index quote_answer_version_idx on quote_answer (version_id, id);

create table quote_answer_job (
    answer_id    bigint not null constraint quote_answer_job_answer_fk references quote_answer,
    version_id   bigint not null,
    line_id      bigint not null,
    answer       text not null constraint quote_answer_job_known check (answer in ('agreed', 'declined')),
    net_minor    bigint not null,
    gross_minor  bigint not null,
    -- What the customer was told and understood of a danger they leave.
    acknowledged text not null default '',
    constraint quote_answer_job_pk primary key (answer_id, line_id),
    constraint quote_answer_job_fk foreign key (version_id, line_id) references quote_job (version_id, line_id)
);
create index quote_answer_job_line_idx on quote_answer_job (line_id);

-- After a way down and up again there are answers to versions that are gone:
-- they stay on record, and the rule holds for what comes.
do $$
begin
    if exists (select from consent where version_id is not null) then
        alter table consent add constraint consent_version_fk foreign key (version_id) references quote_version not valid;
    else
        alter table consent add constraint consent_version_fk foreign key (version_id) references quote_version;
    end if;
end $$;

-- A version is whole when it is committed, and stays as it is.
create function quote_part_of_new() returns trigger language plpgsql as $$
begin
    if not exists (select from quote_version v where v.id = new.version_id and v.xmin = pg_current_xact_id()::xid) then
        raise exception 'version % has been issued: nothing can be added to it', new.version_id using errcode = 'restrict_violation';
    end if;
    return new;
end $$;

create function quote_version_adds_up() returns trigger language plpgsql as $$
begin
    if new.line_net_minor <> coalesce((select sum(net_minor) from quote_line where version_id = new.id), 0)
        or new.line_net_minor <> coalesce((select sum(net_minor) from quote_job where version_id = new.id and line_id is not null), 0)
            + coalesce((select sum(l.net_minor) from quote_line l join quote_job j on j.version_id = l.version_id and j.position = l.job_position
                where l.version_id = new.id and j.line_id is null), 0)
        or new.gross_minor <> coalesce((select sum(gross_minor) from quote_job where version_id = new.id), 0)
        or new.net_minor <> coalesce((select sum(net_minor) from quote_job where version_id = new.id), 0)
        or new.net_minor <> coalesce((select sum(net_minor) from quote_vat where version_id = new.id), 0)
        or new.vat_minor <> coalesce((select sum(vat_minor) from quote_vat where version_id = new.id), 0)
        or new.charges_minor - new.allowances_minor <> coalesce((select sum(case when up then amount_minor else -amount_minor end)
            from quote_adjustment where version_id = new.id and line_position is null), 0)
        or exists (select from quote_job j where j.version_id = new.id and j.line_id is not null and j.net_minor <>
            (select coalesce(sum(net_minor), 0) from quote_line l where l.version_id = j.version_id and l.job_position = j.position))
    then
        raise exception 'version % does not add up', new.id using errcode = 'check_violation', constraint = 'quote_version_adds_up';
    end if;
    return null;
end $$;
create constraint trigger quote_version_whole after insert on quote_version deferrable initially deferred
    for each row execute function quote_version_adds_up();

do $$
declare t text;
begin
    foreach t in array array['quote', 'quote_version', 'quote_job', 'quote_line', 'quote_adjustment', 'quote_vat', 'quote_finding',
        'quote_photo', 'quote_sending', 'quote_withdrawal', 'quote_answer', 'quote_answer_job'] loop
        execute format('create trigger %I before update or delete on %I for each row execute function refuse_change()', t || '_only_grows', t);
        execute format('create trigger %I before truncate on %I for each statement execute function refuse_change()', t || '_never_emptied', t);
    end loop;
    foreach t in array array['quote_job', 'quote_line', 'quote_adjustment', 'quote_vat', 'quote_finding', 'quote_photo'] loop
        execute format('create trigger %I before insert on %I for each row execute function quote_part_of_new()', t || '_with_its_version', t);
    end loop;
end $$;

commit;
