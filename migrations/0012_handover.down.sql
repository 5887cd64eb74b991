begin;
drop table acknowledgement, handover_item, handover, due_interval;
drop function handover_part_of_new(), handover_is_acknowledged();
commit;
