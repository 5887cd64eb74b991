begin;
drop table test_maximum, card_fee, card_menu_line, card_menu, card_adjustment;
alter table part drop column exchange_back_milli, drop column exchange_minor;
-- Records only grow, so the guard stands aside while what cannot be said in
-- the older words is said in the nearest of them.
alter table consent disable trigger consent_only_grows;
update consent set how = 'in writing' where how = 'by link';
alter table consent enable trigger consent_only_grows;
alter table consent drop column signature, drop column up_to_minor, drop column version_id, drop constraint consent_how_known;
alter table consent add constraint consent_how_known check (how in ('in person', 'by phone', 'in writing'));
alter table line drop column ahead_at, drop column ahead_by, drop column ahead_reason, drop column up_to_minor;
alter table card drop column up_to_minor, drop column sundries_cap_minor, drop column sundries_bp;
update garage set vat_rounding = 'document' where vat_rounding not in ('document', 'line');
alter table garage drop constraint garage_vat_rounding_known;
alter table garage add constraint garage_vat_rounding_known check (vat_rounding in ('document', 'line'));
alter table garage drop column sundries_cap_minor, drop column sundries_on, drop column sundries_bp, drop column sundries_name, drop column tax_name;
commit;
