-- What the jobs that a customer chooses come to is worked out on those alone,
-- as the bill will; and a letter is given up by the days it was tried.
begin;

-- Sundries and what is taken off or put on the card as a whole, as they were
-- when the version was issued: {"Sundries": ..., "Card": [...]}.
alter table quote_version add column whole jsonb not null default '{}';

-- When the letter was first tried: before, no server was set up to.
alter table letter add column first_try timestamptz;

commit;
