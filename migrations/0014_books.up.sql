-- From which day VAT is accounted for when money comes in, and not when a bill
-- is issued; null for by bill.
begin;

alter table garage add column vat_cash_from date;

commit;
