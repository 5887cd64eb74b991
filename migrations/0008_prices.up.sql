-- What a card comes to beyond its lines and parts: discounts and surcharges,
-- menu prices, test fees, exchange surcharges, sundries; and how far the
-- customer's yes reaches.
begin;

alter table garage drop constraint garage_vat_rounding_known;
alter table garage
    add constraint garage_vat_rounding_known check (vat_rounding in
        ('document', 'line', 'document down', 'line, tenths down', 'line, half pennies')),
    -- What people here call the tax whose rates are in vat_rate.
    add column tax_name text not null default 'VAT' constraint garage_tax_name_given check (tax_name <> ''),
    -- Small material, as a percentage of what it is charged on; 0 charges none.
    add column sundries_name text not null default 'Sundries' constraint garage_sundries_name_given check (sundries_name <> ''),
    add column sundries_bp integer not null default 0 constraint garage_sundries_range check (sundries_bp between 0 and 10000),
    add column sundries_on text not null default 'labour' constraint garage_sundries_on_known
        check (sundries_on in ('labour', 'parts', 'labour and parts')),
    -- The most that it may be on one card, net.
    add column sundries_cap_minor bigint constraint garage_sundries_cap_range check (sundries_cap_minor between 0 and 100000000);

alter table card
    -- In place of the garage's sundries on this card; 0 charges none.
    add column sundries_bp integer constraint card_sundries_range check (sundries_bp between 0 and 10000),
    add column sundries_cap_minor bigint constraint card_sundries_cap_range check (sundries_cap_minor between 0 and 100000000),
    -- The customer's limit for the whole card, with VAT.
    add column up_to_minor bigint constraint card_up_to_range check (up_to_minor between 0 and 1000000000);

alter table line
    -- The customer's limit for the line, with VAT.
    add column up_to_minor bigint constraint line_up_to_range check (up_to_minor between 0 and 1000000000),
    -- Why it may be worked on though the customer has not agreed, and who says so.
    add column ahead_reason text not null default '',
    add column ahead_by bigint constraint line_ahead_by_fk references staff,
    add column ahead_at timestamptz,
    add constraint line_ahead_with_reason check ((ahead_at is null) = (ahead_reason = ''));

alter table consent drop constraint consent_how_known;
alter table consent
    add constraint consent_how_known check (how in ('in person', 'by phone', 'in writing', 'by link')),
    -- The version of a quote that was answered, where it was one.
    add column version_id bigint,
    add column up_to_minor bigint constraint consent_up_to_range check (up_to_minor between 0 and 1000000000),
    -- Drawn by the customer.
    add column signature bytea constraint consent_signature_size check (octet_length(signature) between 1 and 262144);

alter table part
    -- Charged to the customer for each exchange unit until the old one is here, net.
    add column exchange_minor bigint constraint part_exchange_range check (exchange_minor between 0 and 100000000),
    -- How many old ones came, in thousandths: so much is given back.
    add column exchange_back_milli bigint not null default 0,
    add constraint part_exchange_back_range check (exchange_back_milli between 0 and qty_milli);

-- A discount, or a surcharge where up is true, on a line or on the whole card.
create table card_adjustment (
    id            bigint generated always as identity constraint card_adjustment_pk primary key,
    card_id       bigint not null constraint card_adjustment_card_fk references card,
    line_id       bigint,
    what          text not null constraint card_adjustment_what_given check (what <> ''),
    up            boolean not null,
    percent_bp    integer constraint card_adjustment_percent_range check (percent_bp between 1 and 100000),
    amount_minor  bigint constraint card_adjustment_amount_range check (amount_minor between 1 and 100000000),
    applies_to    text not null default 'everything' constraint card_adjustment_applies_known check (applies_to in ('everything', 'labour', 'parts')),
    made_by       bigint constraint card_adjustment_staff_fk references staff,
    made_at       timestamptz not null,
    struck_at     timestamptz,
    struck_reason text not null default '',
    version       integer not null default 1,
    constraint card_adjustment_line_fk foreign key (card_id, line_id) references line (card_id, id),
    constraint card_adjustment_one_way check (num_nonnulls(percent_bp, amount_minor) = 1),
    constraint card_adjustment_struck_with_reason check (struck_at is null or struck_reason <> '')
);
create index card_adjustment_card_idx on card_adjustment (card_id);

-- One price for several lines together, net.
create table card_menu (
    id            bigint generated always as identity constraint card_menu_pk primary key,
    card_id       bigint not null constraint card_menu_card_fk references card,
    what          text not null constraint card_menu_what_given check (what <> ''),
    net_minor     bigint not null constraint card_menu_net_range check (net_minor between 0 and 100000000),
    made_by       bigint constraint card_menu_staff_fk references staff,
    made_at       timestamptz not null,
    struck_at     timestamptz,
    struck_reason text not null default '',
    version       integer not null default 1,
    constraint card_menu_of_card unique (card_id, id),
    constraint card_menu_struck_with_reason check (struck_at is null or struck_reason <> '')
);
create table card_menu_line (
    menu_id bigint not null,
    card_id bigint not null,
    line_id bigint not null,
    constraint card_menu_line_pk primary key (menu_id, line_id),
    constraint card_menu_line_menu_fk foreign key (card_id, menu_id) references card_menu (card_id, id),
    constraint card_menu_line_line_fk foreign key (card_id, line_id) references line (card_id, id)
);
create index card_menu_line_line_idx on card_menu_line (line_id);

-- The fee of a statutory test on a line of the card.
create table card_fee (
    id            bigint generated always as identity constraint card_fee_pk primary key,
    card_id       bigint not null constraint card_fee_card_fk references card,
    line_id       bigint not null,
    what          text not null constraint card_fee_what_given check (what <> ''),
    class         text not null default '',
    -- What the customer pays, VAT in it where there is any.
    charged_minor bigint not null constraint card_fee_charged_range check (charged_minor between 1 and 100000000),
    -- This garage is the approved centre that tests; else what the centre was paid.
    own           boolean not null,
    paid_minor    bigint not null default 0 constraint card_fee_paid_range check (paid_minor between 0 and 100000000),
    -- The numbers of the conditions of a disbursement that somebody vouches for.
    met           smallint[] not null default '{}',
    made_by       bigint constraint card_fee_staff_fk references staff,
    made_at       timestamptz not null,
    struck_at     timestamptz,
    struck_reason text not null default '',
    version       integer not null default 1,
    constraint card_fee_line_fk foreign key (card_id, line_id) references line (card_id, id),
    constraint card_fee_own_pays_nobody check (not own or paid_minor = 0),
    constraint card_fee_struck_with_reason check (struck_at is null or struck_reason <> '')
);
create index card_fee_card_idx on card_fee (card_id);

-- The most that the law lets anybody charge for a test, from a day on.
create table test_maximum (
    class     text not null constraint test_maximum_class_given check (class <> ''),
    from_day  date not null,
    fee_minor bigint not null constraint test_maximum_fee_range check (fee_minor between 0 and 100000000),
    constraint test_maximum_pk primary key (class, from_day)
);
-- gov.uk, MOT test fees: the table as copies of it from 2011 to 2026 have it.
insert into test_maximum (class, from_day, fee_minor) values
    ('1 or 2', '2011-01-01', 2965), ('1 or 2 with sidecar', '2011-01-01', 3780), ('3', '2011-01-01', 3780),
    ('4', '2011-01-01', 5485), ('4 with 9 to 12 seats', '2011-01-01', 5730), ('7', '2011-01-01', 5860),
    ('5 with 13 to 16 seats', '2011-01-01', 5955), ('5 with more than 16 seats', '2011-01-01', 8065);

commit;
