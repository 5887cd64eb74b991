-- The handover: what goes with the car when it is fetched, as it was said then.
begin;

-- How long the work of an operation lasts before it is due again: common
-- practice or the maker's schedule, as the garage has noted it.
create table due_interval (
    operation_id bigint not null constraint due_interval_pk primary key constraint due_interval_operation_fk references operation,
    months       integer constraint due_interval_months_range check (months between 1 and 240),
    -- In the unit of the card's mileage.
    distance     integer constraint due_interval_distance_range check (distance between 100 and 500000),
    version      integer not null default 1,
    constraint due_interval_says_something check (num_nonnulls(months, distance) > 0)
);

create table handover (
    id             bigint generated always as identity constraint handover_pk primary key,
    card_id        bigint not null constraint handover_card_fk references card,
    -- A card that came back and is handed over again has a second one.
    turn           integer not null constraint handover_turn_range check (turn between 1 and 999),
    customer_id    bigint not null constraint handover_customer_fk references customer,
    vehicle_id     bigint not null constraint handover_vehicle_fk references vehicle,
    -- The garage, the customer and the car as they were then.
    garage_name    text not null,
    garage_address text not null,
    garage_phone   text not null,
    garage_email   text not null,
    zone           text not null,
    customer_name  text not null,
    mark           text not null,
    vin            text not null,
    car            text not null,
    customer_words text not null,
    mileage_in     integer,
    mileage_out    integer constraint handover_mileage_range check (mileage_out between 0 and 3000000),
    mileage_unit   text not null constraint handover_mileage_unit_known check (mileage_unit in ('miles', 'km')),
    given_to       text not null constraint handover_given_to_given check (given_to <> ''),
    -- The keys and whatever else was given back with them.
    keys_note      text not null constraint handover_keys_given check (keys_note <> ''),
    note           text not null default '',
    -- What was left unsettled, and why it was handed over all the same.
    unsettled      text[] not null default '{}',
    anyway_reason  text not null default '',
    handed_at      timestamptz not null,
    handed_by      bigint constraint handover_staff_fk references staff,
    handed_name    text not null,
    constraint handover_turn_once unique (card_id, turn),
    constraint handover_unsettled_with_reason check (cardinality(unsettled) = 0 or anyway_reason <> ''),
    constraint handover_mileage_order check (mileage_out >= mileage_in)
);
create index handover_vehicle_idx on handover (vehicle_id, id);
create index handover_handed_idx on handover (handed_at);

create table handover_item (
    handover_id bigint not null constraint handover_item_handover_fk references handover,
    position    integer not null constraint handover_item_position_range check (position between 1 and 2000),
    kind        text not null constraint handover_item_kind_known
                check (kind in ('done', 'not done', 'found', 'unsafe', 'returned', 'due', 'photo')),
    line_id     bigint constraint handover_item_line_fk references line,
    finding_id  bigint constraint handover_item_finding_fk references finding,
    photo_id    bigint constraint handover_item_photo_fk references photo,
    what        text not null,
    -- Why it was not done, or what became of a finding.
    why         text not null default '',
    severity    text constraint handover_item_severity_known check (severity in ('dangerous', 'major', 'minor', 'advisory')),
    measured    text not null default '',
    limit_value text not null default '',
    -- Second checks and parts of what was done, one line each.
    checks      text[] not null default '{}',
    parts       text[] not null default '{}',
    due_on      date,
    due_at      integer constraint handover_item_due_range check (due_at between 0 and 4000000),
    constraint handover_item_pk primary key (handover_id, position),
    constraint handover_item_unsafe_is_grave check (kind <> 'unsafe' or severity in ('dangerous', 'major')),
    constraint handover_item_due_says_when check (kind <> 'due' or num_nonnulls(due_on, due_at) > 0)
);

-- The customer's word that they were told of what is not safe.
create table acknowledgement (
    handover_id bigint not null constraint acknowledgement_pk primary key constraint acknowledgement_handover_fk references handover,
    words       text not null constraint acknowledgement_words_given check (words <> ''),
    name        text not null constraint acknowledgement_name_given check (name <> ''),
    how         text not null constraint acknowledgement_how_known check (how in ('in person', 'by phone', 'in writing')),
    -- Strokes, as package signature writes them.
    signature   text not null default '' constraint acknowledgement_signature_size check (length(signature) <= 20000),
    at          timestamptz not null
);

-- What belongs to a handover is written with it and stays as it is.
create function handover_part_of_new() returns trigger language plpgsql as $$
begin
    if not exists (select from handover h where h.id = new.handover_id and h.xmin = pg_current_xact_id()::xid) then
        raise exception 'handover % has been made: nothing can be added to it', new.handover_id using errcode = 'restrict_violation';
    end if;
    return new;
end $$;

-- Whatever is dangerous or major and goes home as it is has been acknowledged.
create function handover_is_acknowledged() returns trigger language plpgsql as $$
begin
    if exists (select from handover_item i where i.handover_id = new.id and i.kind = 'unsafe')
        and not exists (select from acknowledgement a where a.handover_id = new.id) then
        raise exception 'handover % has something unsafe that nobody acknowledged', new.id
            using errcode = 'check_violation', constraint = 'handover_is_acknowledged';
    end if;
    return null;
end $$;
create constraint trigger handover_acknowledged after insert on handover deferrable initially deferred
    for each row execute function handover_is_acknowledged();

do $$
declare t text;
begin
    foreach t in array array['handover', 'handover_item', 'acknowledgement'] loop
        execute format('create trigger %I before update or delete on %I for each row execute function refuse_change()', t || '_only_grows', t);
        execute format('create trigger %I before truncate on %I for each statement execute function refuse_change()', t || '_never_emptied', t);
    end loop;
    foreach t in array array['handover_item', 'acknowledgement'] loop
        execute format('create trigger %I before insert on %I for each row execute function handover_part_of_new()', t || '_with_its_handover', t);
    end loop;
end $$;

commit;
