begin;
alter table letter drop column first_try;
alter table quote_version drop column whole;
commit;
