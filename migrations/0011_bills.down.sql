begin;
drop view payment_state, bill_state;
drop table deposit_vat, allocation, payment, pay_method, billed, bill_vat, bill_adjust, bill_line_adjust, bill_line, bill, no_charge, bill_party, bill_series, bill_terms;
drop function allocation_check(), payment_check(), bill_checked(), bill_check(bigint), billed_let_go(), bill_series_counts();
commit;
