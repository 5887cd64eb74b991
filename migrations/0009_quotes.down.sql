begin;
alter table consent drop constraint consent_version_fk;
drop table quote_answer_job, quote_answer, quote_withdrawal, quote_sending, quote_photo, quote_finding, quote_vat, quote_adjustment,
    quote_line, quote_job, quote_version, quote;
drop function quote_version_adds_up(), quote_part_of_new();
commit;
