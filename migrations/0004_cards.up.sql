-- The card: one visit of one vehicle, its lines and parts, and the work on them.
begin;

create table card (
    id              bigint generated always as identity (start with 1001) constraint card_pk primary key,
    vehicle_id      bigint not null constraint card_vehicle_fk references vehicle,
    customer_id     bigint not null constraint card_customer_fk references customer,
    stage           text not null default 'booked' constraint card_stage_known
                    check (stage in ('booked', 'on site', 'in work', 'ready', 'collected', 'cancelled')),
    -- The garage's day that the car comes in, and when on it.
    booked_for      date not null,
    arrives_at      timestamptz,
    promised_at     timestamptz,
    mileage         integer constraint card_mileage_range check (mileage between 0 and 3000000),
    mileage_unit    text not null default 'miles' constraint card_mileage_unit_known check (mileage_unit in ('miles', 'km')),
    customer_words  text not null default '',
    keys_note       text not null default '',
    contact_name    text not null default '',
    contact_phone   text not null default '',
    created_at      timestamptz not null,
    created_by      bigint constraint card_staff_fk references staff,
    on_site_at      timestamptz,
    ready_at        timestamptz,
    collected_at    timestamptz,
    cancel_reason   text not null default '',
    version         integer not null default 1,
    constraint card_cancelled_with_reason check (stage <> 'cancelled' or cancel_reason <> '')
);
create index card_day_idx on card (booked_for);
create index card_vehicle_idx on card (vehicle_id, booked_for);
create index card_customer_idx on card (customer_id);
create index card_collected_idx on card (collected_at) where collected_at is not null;
create index card_live_idx on card (stage, booked_for) where stage in ('booked', 'on site', 'in work', 'ready');

create table line (
    id                  bigint generated always as identity constraint line_pk primary key,
    card_id             bigint not null constraint line_card_fk references card,
    position            integer not null constraint line_position_range check (position between 1 and 10000),
    operation_id        bigint constraint line_operation_fk references operation,
    title               text not null constraint line_title_given check (title <> ''),
    must_do             boolean not null default true,
    work_state          text not null default 'open' constraint line_work_state_known
                        check (work_state in ('open', 'in hand', 'done', 'deferred', 'waiting on parts')),
    -- Why it is deferred or waiting, and who decided that.
    state_reason        text not null default '',
    decided_by          text not null default '',
    consent             text not null default 'asked' constraint line_consent_known check (consent in ('asked', 'agreed', 'declined')),
    labour_type_id      bigint not null constraint line_labour_type_fk references labour_type,
    rate_minor          bigint not null constraint line_rate_range check (rate_minor between 0 and 100000000),
    low_minutes         integer not null,
    likely_minutes      integer not null,
    high_minutes        integer not null,
    fixed_price_minor   bigint constraint line_fixed_price_range check (fixed_price_minor between 0 and 100000000),
    vat_code            text not null default 'standard' constraint line_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'outside')),
    -- The planned cost of an hour when the line was written.
    std_cost_rate_minor bigint not null constraint line_std_cost_range check (std_cost_rate_minor between 0 and 100000000),
    -- What was agreed: hours, and the net price of labour and parts together.
    agreed_minutes      integer,
    agreed_net_minor    bigint,
    cautions            text[] not null default '{}',
    safety              boolean not null default false,
    wheels_off          boolean not null default false,
    inspects            boolean not null default false,
    assigned_to         bigint constraint line_assigned_fk references staff,
    -- The line of an earlier card that this one takes up again.
    carried_from        bigint constraint line_carried_fk references line,
    -- The line during which this work was found.
    found_on            bigint constraint line_found_fk references line,
    done_at             timestamptz,
    done_by             bigint constraint line_done_by_fk references staff,
    struck_at           timestamptz,
    struck_reason       text not null default '',
    note                text not null default '',
    version             integer not null default 1,
    constraint line_of_card unique (card_id, id),
    constraint line_hours_order check (0 <= low_minutes and low_minutes <= likely_minutes and likely_minutes <= high_minutes and high_minutes <= 12000),
    constraint line_deferred_with_reason check (work_state <> 'deferred' or (state_reason <> '' and decided_by <> '')),
    constraint line_waiting_with_reason check (work_state <> 'waiting on parts' or state_reason <> ''),
    constraint line_done_is_dated check ((work_state = 'done') = (done_at is not null)),
    constraint line_struck_with_reason check (struck_at is null or struck_reason <> ''),
    constraint line_agreed_has_price check (consent <> 'agreed' or (agreed_minutes is not null and agreed_net_minor is not null))
);
create index line_card_idx on line (card_id, position);
create index line_operation_idx on line (operation_id) where operation_id is not null;
create unique index line_carried_once on line (carried_from) where carried_from is not null and struck_at is null;
create index line_found_idx on line (found_on) where found_on is not null;

-- after_id must be done before line_id is started; both on one card.
create table line_order (
    card_id  bigint not null,
    line_id  bigint not null,
    after_id bigint not null,
    constraint line_order_pk primary key (line_id, after_id),
    constraint line_order_line_fk foreign key (card_id, line_id) references line (card_id, id),
    constraint line_order_after_fk foreign key (card_id, after_id) references line (card_id, id),
    constraint line_order_not_itself check (line_id <> after_id)
);
create index line_order_after_idx on line_order (after_id);

-- Each yes and no that was given, as it was given.
create table consent (
    id           bigint generated always as identity constraint consent_pk primary key,
    line_id      bigint not null constraint consent_line_fk references line,
    answer       text not null constraint consent_answer_known check (answer in ('agreed', 'declined')),
    said_by      text not null constraint consent_said_by_given check (said_by <> ''),
    how          text not null constraint consent_how_known check (how in ('in person', 'by phone', 'in writing')),
    minutes      integer not null,
    net_minor    bigint not null,
    taken_by     bigint constraint consent_staff_fk references staff,
    at           timestamptz not null
);
create index consent_line_idx on consent (line_id, id);
create trigger consent_only_grows before update or delete on consent for each row execute function refuse_change();
create trigger consent_never_emptied before truncate on consent for each statement execute function refuse_change();

create table part (
    id                bigint generated always as identity constraint part_pk primary key,
    card_id           bigint not null constraint part_card_fk references card,
    line_id           bigint,
    name              text not null constraint part_name_given check (name <> ''),
    number            text not null default '',
    supplier_id       bigint constraint part_supplier_fk references supplier,
    -- Thousandths of a piece, a litre or a metre.
    qty_milli         bigint not null constraint part_qty_range check (qty_milli between 1 and 100000000),
    -- Net, each.
    cost_minor        bigint not null default 0 constraint part_cost_range check (cost_minor between 0 and 100000000),
    -- A set price each, or else the cost with a mark-up.
    price_minor       bigint constraint part_price_range check (price_minor between 0 and 100000000),
    markup_bp         integer constraint part_markup_range check (markup_bp between 0 and 1000000),
    vat_code          text not null default 'standard' constraint part_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'outside')),
    -- What the quote counted on, kept when the line was agreed.
    quoted_qty_milli  bigint,
    quoted_cost_minor bigint,
    source            text not null default 'garage' constraint part_source_known check (source in ('garage', 'customer')),
    supply            text not null default 'needed' constraint part_supply_known
                      check (supply in ('needed', 'ordered', 'arrived', 'fitted', 'going back', 'credited', 'not coming')),
    due_at            timestamptz,
    verdict           text not null default 'unchecked' constraint part_verdict_known check (verdict in ('unchecked', 'fits', 'does not fit', 'cannot tell')),
    verdict_by        bigint constraint part_verdict_by_fk references staff,
    verdict_at        timestamptz,
    verdict_note      text not null default '',
    struck_at         timestamptz,
    struck_reason     text not null default '',
    version           integer not null default 1,
    constraint part_line_fk foreign key (card_id, line_id) references line (card_id, id),
    constraint part_priced_one_way check (price_minor is null or markup_bp is null),
    constraint part_struck_with_reason check (struck_at is null or struck_reason <> '')
);
create index part_card_idx on part (card_id);
create index part_line_idx on part (line_id) where line_id is not null;
create index part_number_idx on part (number) where number <> '';
create index part_outstanding_idx on part (supply, due_at) where supply in ('needed', 'ordered', 'going back') and struck_at is null;

create table clocking (
    id              bigint generated always as identity constraint clocking_pk primary key,
    staff_id        bigint not null constraint clocking_staff_fk references staff,
    line_id         bigint not null constraint clocking_line_fk references line,
    -- Open while the work goes on.
    during          tstzrange not null constraint clocking_not_empty check (not isempty(during) and not lower_inf(during)),
    cost_rate_minor bigint not null constraint clocking_cost_range check (cost_rate_minor between 0 and 100000000),
    -- Struck out as never having happened; it stays on record.
    voided          boolean not null default false,
    version         integer not null default 1,
    constraint clocking_one_at_a_time exclude using gist (staff_id with =, during with &&) where (not voided)
);
create index clocking_line_idx on clocking (line_id);
create index clocking_during_idx on clocking using gist (during);
create unique index clocking_open_once on clocking (staff_id) where upper_inf(during) and not voided;

create table clocking_correction (
    id          bigint generated always as identity constraint clocking_correction_pk primary key,
    clocking_id bigint not null constraint clocking_correction_fk references clocking,
    was         tstzrange not null,
    became      tstzrange,
    reason      text not null constraint clocking_correction_reason_given check (reason <> ''),
    by_staff    bigint constraint clocking_correction_staff_fk references staff,
    at          timestamptz not null
);
create index clocking_correction_idx on clocking_correction (clocking_id);
create trigger clocking_correction_only_grows before update or delete on clocking_correction for each row execute function refuse_change();

create table snag (
    id       bigint generated always as identity constraint snag_pk primary key,
    line_id  bigint not null constraint snag_line_fk references line,
    part_id  bigint constraint snag_part_fk references part,
    kind     text not null constraint snag_kind_known check (kind in ('wrong part', 'part missing', 'job has grown', 'found a fault', 'blocked')),
    note     text not null default '',
    by_staff bigint constraint snag_staff_fk references staff,
    at       timestamptz not null,
    -- The line that it led to, if any.
    led_to   bigint constraint snag_led_to_fk references line
);
create index snag_line_idx on snag (line_id);

-- Something seen or measured on the car.
create table finding (
    id               bigint generated always as identity constraint finding_pk primary key,
    card_id          bigint not null constraint finding_card_fk references card,
    line_id          bigint constraint finding_line_fk references line,
    severity         text not null constraint finding_severity_known check (severity in ('dangerous', 'major', 'minor', 'advisory')),
    what             text not null constraint finding_what_given check (what <> ''),
    measured         text not null default '',
    limit_value      text not null default '',
    proposed_line_id bigint constraint finding_proposed_fk references line,
    by_staff         bigint constraint finding_staff_fk references staff,
    at               timestamptz not null
);
create index finding_card_idx on finding (card_id);

-- A technician has read a line's cautions before working on it.
create table caution_read (
    line_id  bigint not null constraint caution_read_line_fk references line,
    staff_id bigint not null constraint caution_read_staff_fk references staff,
    cautions text[] not null,
    at       timestamptz not null,
    constraint caution_read_pk primary key (line_id, staff_id)
);

create table second_check (
    id        bigint generated always as identity constraint second_check_pk primary key,
    line_id   bigint not null constraint second_check_line_fk references line,
    by_staff  bigint not null constraint second_check_staff_fk references staff,
    -- Wheel fastening torque, newton metres; given where a wheel was off.
    torque_nm numeric(6, 1) constraint second_check_torque_range check (torque_nm between 1 and 2000),
    note      text not null default '',
    at        timestamptz not null,
    -- Set when the line was opened again: the check no longer counts.
    undone_at timestamptz
);
create unique index second_check_once on second_check (line_id) where undone_at is null;

create table photo (
    id           bigint generated always as identity constraint photo_pk primary key,
    card_id      bigint not null,
    line_id      bigint not null,
    blob         text not null constraint photo_blob_form check (blob ~ '^[0-9a-f]{64}$'),
    thumb        text not null constraint photo_thumb_form check (thumb ~ '^[0-9a-f]{64}$'),
    width        integer not null constraint photo_width_range check (width between 1 and 10000),
    height       integer not null constraint photo_height_range check (height between 1 and 10000),
    bytes        integer not null,
    caption      text not null default '',
    by_staff     bigint constraint photo_staff_fk references staff,
    at           timestamptz not null,
    struck_at    timestamptz,
    constraint photo_line_fk foreign key (card_id, line_id) references line (card_id, id)
);
create index photo_card_idx on photo (card_id);

commit;
