-- What a customer opens without an account, and the mail that goes out.
begin;

-- A customer who answers by a link that was sent changes things too.
alter table event drop constraint event_via_known;
alter table event add constraint event_via_known check (via in ('page', 'api', 'command', 'link'));

-- What links are signed with: one row, made when the first link is.
create table link_secret (
    sole    boolean not null default true constraint link_secret_pk primary key constraint link_secret_one check (sole),
    secret  bytea not null constraint link_secret_size check (length(secret) = 32),
    made_at timestamptz not null
);

-- One link that was given to a customer. The address itself is not here: it is
-- made of the row's own name and a signature under the secret.
create table customer_link (
    id           bigint generated always as identity constraint customer_link_pk primary key,
    name         bytea not null constraint customer_link_name_size check (length(name) = 16),
    purpose      text not null constraint customer_link_purpose_known check (purpose in ('quote', 'handover', 'bill')),
    target_id    bigint not null,
    card_id      bigint constraint customer_link_card_fk references card,
    -- Who it was made for, as their answers are signed.
    given_to     text not null constraint customer_link_given_to_given check (given_to <> ''),
    until        timestamptz not null,
    made_at      timestamptz not null,
    made_by      bigint constraint customer_link_staff_fk references staff,
    withdrawn_at timestamptz,
    withdrawn_by bigint constraint customer_link_withdrawn_fk references staff,
    opened       integer not null default 0 constraint customer_link_opened_range check (opened >= 0),
    first_opened timestamptz,
    last_opened  timestamptz,
    constraint customer_link_name_once unique (name),
    constraint customer_link_until_order check (until > made_at),
    constraint customer_link_opened_order check ((first_opened is null) = (opened = 0) and (first_opened is null) = (last_opened is null))
);
create index customer_link_target_idx on customer_link (purpose, target_id);
create index customer_link_card_idx on customer_link (card_id) where card_id is not null;

-- Letters: a row is written with what it is about, and sent afterwards.
create table letter (
    id          bigint generated always as identity constraint letter_pk primary key,
    -- What it is about, such as quote 12.
    about       text not null default '',
    about_id    bigint not null default 0,
    card_id     bigint constraint letter_card_fk references card,
    to_name     text not null default '',
    to_address  text not null constraint letter_address_given check (to_address <> ''),
    from_name   text not null default '',
    reply_to    text not null default '',
    subject     text not null constraint letter_subject_one_line check (subject <> '' and subject !~ '[\r\n]'),
    body        text not null constraint letter_body_given check (body <> ''),
    -- The same however often it is tried, so that a repeat is one mail.
    message_id  text not null constraint letter_message_id_form check (message_id ~ '^[0-9a-z.]+$'),
    state       text not null default 'waiting' constraint letter_state_known check (state in ('waiting', 'sent', 'failed', 'withdrawn')),
    tries       integer not null default 0,
    next_try    timestamptz not null,
    -- While a server has it in hand; afterwards another may try.
    held_until  timestamptz,
    trouble     text not null default '',
    written_at  timestamptz not null,
    written_by  bigint constraint letter_staff_fk references staff,
    done_at     timestamptz,
    constraint letter_message_id_once unique (message_id),
    constraint letter_done_when_over check ((state = 'waiting') = (done_at is null)),
    constraint letter_failed_with_reason check (state <> 'failed' or trouble <> '')
);
create index letter_waiting_idx on letter (next_try) where state = 'waiting';
create index letter_about_idx on letter (about, about_id);
create index letter_written_idx on letter (written_at);

create table letter_file (
    letter_id  bigint not null constraint letter_file_letter_fk references letter,
    place      smallint not null constraint letter_file_place_range check (place between 1 and 5),
    name       text not null constraint letter_file_name_form check (name ~ '^[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}$'),
    media_type text not null constraint letter_file_type_known check (media_type in ('application/pdf', 'application/xml', 'text/csv', 'text/plain')),
    content    bytea not null constraint letter_file_size check (length(content) between 1 and 5000000),
    constraint letter_file_pk primary key (letter_id, place)
);

commit;
