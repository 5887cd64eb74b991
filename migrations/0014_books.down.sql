begin;

alter table garage drop column vat_cash_from;

commit;
