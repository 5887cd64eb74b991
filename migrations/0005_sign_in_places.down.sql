begin;
drop table if exists sign_in_place;
drop index if exists sign_in_failure_address_idx, sign_in_failure_at_idx, api_token_staff_idx, device_name_once, session_device_idx;
commit;
