-- Where each person has signed in from, so that a stranger's wrong tries do
-- not keep them out where they usually are.
begin;

create table sign_in_place (
    staff_id bigint not null constraint sign_in_place_staff_fk references staff,
    -- An address as failures are counted by, not a full one for IPv6.
    address  text not null,
    last_at  timestamptz not null,
    constraint sign_in_place_pk primary key (staff_id, address)
);

-- Wrong tries from one place over all accounts.
create index sign_in_failure_address_idx on sign_in_failure (address, at);
create index sign_in_failure_at_idx on sign_in_failure (at);

-- The staff's own lists of what they hold.
create index api_token_staff_idx on api_token (staff_id);

-- Two tablets of one name could not be told apart; one that is gone may be
-- followed by another.
create unique index device_name_once on device (name) where revoked_at is null;
create index session_device_idx on session (device_id) where device_id is not null;

commit;
