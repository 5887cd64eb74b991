begin;
drop table vehicle_fact, keeper, vehicle, customer;
commit;
