-- Does a part fit this very car: what it asks of a car, every verdict that was
-- ever given, and the gate before the old part comes off.
begin;

-- When the old parts came off; from there on there is no way back but forward.
alter table line add column stripped_at timestamptz;

-- Whether somebody said it, or it follows from conditions, properties and facts.
alter table part add column verdict_how text not null default 'by hand'
    constraint part_verdict_how_known check (verdict_how in ('by hand', 'reasoned'));

-- A part number as it is compared: without blanks and marks, in capitals.
create function number_key(number text) returns text
language sql immutable parallel safe as $$
    select upper(regexp_replace(number, '[\x01-\x2f\x3a-\x40\x5b-\x60\x7b-\x7f]', '', 'g') collate "C")
$$;
create index part_number_key_idx on part (number_key(number)) where number <> '';
drop index part_number_idx;

-- What a part asks of the car, and what it is itself, for the number that it
-- was given for: the words of one number say nothing of another.
create table part_fit (
    part_id    bigint not null constraint part_fit_pk primary key constraint part_fit_part_fk references part,
    number_key text not null,
    kind       text not null default 'other' constraint part_fit_kind_given check (kind <> ''),
    -- In the canonical notation; empty for none.
    rule       text not null default '',
    props      jsonb not null default '{}' constraint part_fit_props_form check (jsonb_typeof(props) = 'object'),
    -- As the supplier or the box words it.
    box_words  text not null default '',
    -- The part of an earlier card whose words were taken over.
    taken_from bigint constraint part_fit_taken_fk references part,
    put_by     bigint constraint part_fit_staff_fk references staff,
    put_at     timestamptz not null,
    version    integer not null default 1
);
create index part_fit_number_idx on part_fit (number_key, part_id) where number_key <> '';

-- Every verdict as it was given, and on what it rested.
create table fit_check (
    id         bigint generated always as identity constraint fit_check_pk primary key,
    part_id    bigint not null constraint fit_check_part_fk references part,
    card_id    bigint not null constraint fit_check_card_fk references card,
    vehicle_id bigint not null constraint fit_check_vehicle_fk references vehicle,
    number_key text not null,
    verdict    text not null constraint fit_check_verdict_known check (verdict in ('unchecked', 'fits', 'does not fit', 'cannot tell')),
    how        text not null constraint fit_check_how_known check (how in ('by hand', 'reasoned')),
    rule       text not null default '',
    -- What was known of the car by key, and how the verdict came about.
    facts      jsonb not null default '{}',
    proof      jsonb not null default '{}',
    note       text not null default '',
    by_staff   bigint constraint fit_check_staff_fk references staff,
    at         timestamptz not null
);
create index fit_check_part_idx on fit_check (part_id, id);
create trigger fit_check_only_grows before update or delete on fit_check for each row execute function refuse_change();
create trigger fit_check_never_emptied before truncate on fit_check for each statement execute function refuse_change();

-- The number that somebody read off the box at the bench.
create table box_reading (
    id         bigint generated always as identity constraint box_reading_pk primary key,
    part_id    bigint not null constraint box_reading_part_fk references part,
    number     text not null constraint box_reading_number_given check (number <> ''),
    number_key text not null,
    by_staff   bigint constraint box_reading_staff_fk references staff,
    at         timestamptz not null
);
create index box_reading_part_idx on box_reading (part_id, id);
create trigger box_reading_only_grows before update or delete on box_reading for each row execute function refuse_change();

-- One number is the same part as another, or was replaced by it.
create table part_number_link (
    number_key text not null constraint part_number_link_key_given check (number_key <> ''),
    other_key  text not null constraint part_number_link_other_given check (other_key <> ''),
    number     text not null,
    other      text not null,
    kind       text not null constraint part_number_link_kind_known check (kind in ('same as', 'replaced by')),
    by_staff   bigint constraint part_number_link_staff_fk references staff,
    at         timestamptz not null,
    constraint part_number_link_pk primary key (number_key, other_key),
    constraint part_number_link_not_itself check (number_key <> other_key)
);
create index part_number_link_other_idx on part_number_link (other_key);

-- Somebody entitled lets the work go on with a part that nobody found to fit.
-- It covers the part under the number it had, and no worse than was known.
create table fit_waiver (
    id         bigint generated always as identity constraint fit_waiver_pk primary key,
    card_id    bigint not null constraint fit_waiver_card_fk references card,
    line_id    bigint not null constraint fit_waiver_line_fk references line,
    part_id    bigint not null constraint fit_waiver_part_fk references part,
    number_key text not null,
    verdict    text not null constraint fit_waiver_verdict_known check (verdict in ('unchecked', 'does not fit', 'cannot tell')),
    reason     text not null constraint fit_waiver_reason_given check (reason <> ''),
    by_staff   bigint constraint fit_waiver_staff_fk references staff,
    at         timestamptz not null
);
create index fit_waiver_part_idx on fit_waiver (part_id);
create index fit_waiver_card_idx on fit_waiver (card_id);
create trigger fit_waiver_only_grows before update or delete on fit_waiver for each row execute function refuse_change();
create trigger fit_waiver_never_emptied before truncate on fit_waiver for each statement execute function refuse_change();

-- A reasoned verdict is never older than what it rests on: when that changes,
-- by whatever door, it falls back to unchecked in the same transaction, and
-- whoever changed it may have it judged anew before the commit. On a card that
-- is finished everything stays as it was.
create function fit_fall_back(of_card bigint) returns void
language plpgsql as $$
begin
    update part p set verdict = 'unchecked', verdict_by = null, verdict_at = null, verdict_note = ''
    from card c
    where c.id = of_card and c.stage not in ('collected', 'cancelled') and p.card_id = c.id
        and p.verdict_how = 'reasoned' and p.verdict <> 'unchecked';
end $$;

create function fit_fall_back_car(of_vehicle bigint) returns void
language plpgsql as $$
begin
    -- Whoever judges holds the car while they read what is known of it.
    perform from vehicle where id = of_vehicle for no key update;
    perform fit_fall_back(c.id) from card c
    where c.vehicle_id = of_vehicle and c.stage not in ('collected', 'cancelled') order by c.id;
end $$;

create function vehicle_fact_changed() returns trigger language plpgsql as $$
begin
    if tg_op = 'UPDATE' and new.value = old.value and new.key = old.key and new.source = old.source then
        return null;
    end if;
    perform fit_fall_back_car(coalesce(new.vehicle_id, old.vehicle_id));
    return null;
end $$;
create trigger vehicle_fact_unsettles after insert or update or delete on vehicle_fact
    for each row execute function vehicle_fact_changed();

create function vehicle_vin_changed() returns trigger language plpgsql as $$
begin
    perform fit_fall_back_car(new.id);
    return null;
end $$;
create trigger vehicle_vin_unsettles after update of vin on vehicle
    for each row when (new.vin is distinct from old.vin) execute function vehicle_vin_changed();

create function part_fit_changed() returns trigger language plpgsql as $$
begin
    perform fit_fall_back(p.card_id) from part p where p.id = coalesce(new.part_id, old.part_id);
    return null;
end $$;
create trigger part_fit_unsettles after insert or update or delete on part_fit
    for each row execute function part_fit_changed();

-- The parts of a card judge one another: one more, one less or another one
-- changes the set.
create function part_set_changed() returns trigger language plpgsql as $$
begin
    if number_key(new.number) <> number_key(old.number)
        or (new.struck_at is null) <> (old.struck_at is null)
        or (new.supply in ('going back', 'credited', 'not coming')) <> (old.supply in ('going back', 'credited', 'not coming')) then
        perform fit_fall_back(new.card_id);
    end if;
    return null;
end $$;
create trigger part_unsettles after update of number, struck_at, supply on part
    for each row execute function part_set_changed();

commit;
