-- The record of who changed what, and the keys that make a write happen once.
begin;

create extension if not exists btree_gist;
create extension if not exists pg_trgm;

create table event (
    id          bigint generated always as identity constraint event_pk primary key,
    at          timestamptz not null,
    staff_id    bigint,
    staff_name  text not null,
    via         text not null constraint event_via_known check (via in ('page', 'api', 'command')),
    device      text not null,
    request_id  text not null default '',
    kind        text not null constraint event_kind_given check (kind <> ''),
    card_id     bigint,
    subject     text not null default '',
    detail      jsonb not null default '{}',
    prev_hash   bytea not null,
    hash        bytea not null
);
create index event_card_idx on event (card_id, id) where card_id is not null;
create index event_at_idx on event (at);

-- What one event's hash is taken over. Also called by the command that
-- verifies the chain.
create function event_digest(prev bytea, e event) returns bytea
language sql stable as $$
    select sha256(prev || convert_to(
        concat_ws(E'\x1f', e.id, extract(epoch from e.at)::text, coalesce(e.staff_id::text, '-'), e.staff_name, e.via,
            e.device, e.request_id, e.kind, coalesce(e.card_id::text, '-'), e.subject, e.detail::text), 'UTF8'))
$$;

-- Every insert takes its place at the end of the chain, whoever makes it. The
-- lock is held to the end of the transaction, so that ids and chain agree.
create function event_chain() returns trigger language plpgsql as $$
begin
    perform pg_advisory_xact_lock(7263517002);
    new.id := nextval(pg_get_serial_sequence('event', 'id'));
    select hash into new.prev_hash from event order by id desc limit 1;
    new.prev_hash := coalesce(new.prev_hash, '\x'::bytea);
    new.hash := event_digest(new.prev_hash, new);
    return new;
end $$;
create trigger event_chained before insert on event for each row execute function event_chain();

create function refuse_change() returns trigger language plpgsql as $$
begin
    raise exception '% on % is not allowed: it only grows', tg_op, tg_table_name
        using errcode = 'restrict_violation';
end $$;
create trigger event_only_grows before update or delete on event for each row execute function refuse_change();
create trigger event_never_emptied before truncate on event for each statement execute function refuse_change();

-- Other screens are told after commit. The payload says where to look, never what.
create function event_tell() returns trigger language plpgsql as $$
begin
    perform pg_notify('rampside', coalesce('card:' || new.card_id, 'garage'));
    return null;
end $$;
create trigger event_told after insert on event for each row execute function event_tell();

create table write_key (
    staff_id       bigint not null,
    key            text not null constraint write_key_size check (length(key) between 1 and 200),
    action         text not null,
    request_sha256 bytea not null,
    result         jsonb,
    at             timestamptz not null,
    constraint write_key_pk primary key (staff_id, key)
);
create index write_key_at_idx on write_key (at);

commit;
