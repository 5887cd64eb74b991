begin;
drop table supplier, operation, sign_in_failure, api_token, session, device, attendance, absence, shift_pattern, staff, labour_type, vat_rate, garage;
commit;
