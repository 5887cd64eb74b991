begin;
drop table stock_move, stock_count, stock_lot, part_credit, part_return, arrival, purchase_line, purchase, stock_item;
alter table part drop column arrived_at;
commit;
