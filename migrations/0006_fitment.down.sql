begin;
drop trigger part_unsettles on part;
drop trigger vehicle_vin_unsettles on vehicle;
drop trigger vehicle_fact_unsettles on vehicle_fact;
drop table part_fit, fit_check, box_reading, part_number_link, fit_waiver;
drop function part_set_changed(), part_fit_changed(), vehicle_vin_changed(), vehicle_fact_changed(), fit_fall_back_car(bigint),
    fit_fall_back(bigint);
create index part_number_idx on part (number) where number <> '';
drop index part_number_key_idx;
drop function number_key(text);
alter table part drop column verdict_how;
alter table line drop column stripped_at;
commit;
