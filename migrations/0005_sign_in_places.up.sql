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

commit;
