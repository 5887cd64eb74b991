begin;
drop table letter_file, letter, customer_link, link_secret;
alter table event drop constraint event_via_known;
-- What customers changed stays on record: the rule then holds for what comes.
do $$
begin
    if exists (select from event where via = 'link') then
        alter table event add constraint event_via_known check (via in ('page', 'api', 'command')) not valid;
    else
        alter table event add constraint event_via_known check (via in ('page', 'api', 'command'));
    end if;
end $$;
commit;
